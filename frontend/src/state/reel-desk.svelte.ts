/** A reel being put together: what is written goes to the server by itself, a moment after the last change. */
import * as api from '../api/reels'
import type { Playlist, PlaylistItem, Reel, ReelBall, ReelInput } from '../api/types'
import { moved } from '../ui/reorder'
import { Autosave } from './autosave.svelte'

export class ReelDesk {
  reel = $state.raw<Reel | null>(null)
  items = $state.raw<readonly PlaylistItem[]>([])
  problem = $state.raw<unknown>(null)
  /** Nothing is fetched over what is not saved yet. */
  readonly saver: Autosave = new Autosave({
    ready: () => this.reel !== null && !this.untitled,
    send: async (leaving) => {
      const saved = await api.changeReel(this.id, this.input, leaving)
      this.reel = { ...this.reel!, revision: saved.revision, updated: saved.updated }
    },
  })

  constructor(readonly id: number) {}

  readonly picked = $derived(this.reel !== null && this.reel.question === null)

  async load(): Promise<void> {
    if (this.saver.saving !== 'saved') return // what is being written wins; the save brings the news
    try {
      const list = await api.playlist(this.id)
      if (this.saver.saving !== 'saved') return
      this.#take(list)
      this.problem = null
    } catch (err) {
      if (!this.reel) this.problem = err
    }
  }

  #take(list: Playlist): void {
    this.reel = list.reel
    this.items = list.items
  }

  /** Changes the reel on the page, and saves it soon. */
  change(part: Partial<Pick<Reel, 'title' | 'note' | 'players' | 'question'>>): void {
    if (!this.reel) return
    this.reel = { ...this.reel, ...part }
    this.saver.soon()
  }

  /** Writes a title or a note on a ball. */
  write(ball: number, part: Partial<Pick<ReelBall, 'title' | 'note'>>): void {
    this.#set(this.items.map((i) => (i.ball.id === ball ? { ...i, ...part } : i)))
  }

  move(from: number, to: number): void {
    this.#set(moved(this.items, from, to))
  }

  /** Takes a ball out of a hand-picked reel; the returned function puts it back where it was. */
  remove(ball: number): () => void {
    const at = this.items.findIndex((i) => i.ball.id === ball)
    const gone = this.items[at]
    if (!gone) return () => {}
    this.#set(this.items.filter((i) => i !== gone))
    return () => this.#set([...this.items.slice(0, at), gone, ...this.items.slice(at)])
  }

  /** Makes a hand-picked reel of what the question finds now; the returned function gives it its question back. */
  freeze(): () => void {
    const question = this.reel?.question ?? null
    this.change({ question: null })
    return () => this.change({ question })
  }

  #set(items: readonly PlaylistItem[]): void {
    this.items = items
    this.saver.soon()
  }

  get input(): ReelInput {
    const r = this.reel!
    const balls = this.items
      .map((i) => ({ ball_id: i.ball.id, title: i.title, note: i.note }))
      .filter((b) => r.question === null || b.title || b.note)
    return { title: r.title, note: r.note, question: r.question, players: r.players, balls, revision: r.revision }
  }

  /** Waits for a title: a reel can't be without. */
  get untitled(): boolean {
    return this.reel !== null && !this.reel.title.trim()
  }

  /** Gives up what could not be saved and shows what the server has. */
  async takeTheirs(): Promise<void> {
    this.saver.giveUp()
    await this.load()
  }

  /** Keeps what is on this page, over what somebody else saved. */
  async keepMine(): Promise<void> {
    if (!this.reel) return
    try {
      const theirs = await api.reel(this.id)
      this.reel = { ...this.reel, revision: theirs.revision }
      await this.saver.save()
    } catch (err) {
      this.saver.unsaved = err
    }
  }
}
