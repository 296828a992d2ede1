/** A reel being put together: what is written goes to the server by itself, a moment after the last change. */
import { ApiError } from '../api/error'
import * as api from '../api/reels'
import type { Playlist, PlaylistItem, Reel, ReelBall, ReelInput } from '../api/types'
import { moved } from '../ui/reorder'

const PAUSE = 700
const RETRY = 5_000

/** A refused or unsent save is 'failed'; what was written stays on the page, and nothing is fetched over it. */
export type Saving = 'saved' | 'waiting' | 'saving' | 'failed'

export class ReelDesk {
  reel = $state.raw<Reel | null>(null)
  items = $state.raw<readonly PlaylistItem[]>([])
  problem = $state.raw<unknown>(null)
  saving = $state<Saving>('saved')
  /** Why the last save came to nothing; what was written is still on the page. */
  unsaved = $state.raw<unknown>(null)
  #timer: ReturnType<typeof setTimeout> | undefined
  /** Something was written while a save was on its way. */
  #again = false
  #going: Promise<void> | null = null

  constructor(readonly id: number) {}

  readonly picked = $derived(this.reel !== null && this.reel.question === null)

  async load(): Promise<void> {
    if (this.saving !== 'saved') return // what is being written wins; the save brings the news
    try {
      const list = await api.playlist(this.id)
      if (this.saving !== 'saved') return
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
    this.#soon()
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
    this.#soon()
  }

  #soon(): void {
    clearTimeout(this.#timer)
    if (this.saving === 'saving') this.#again = true
    else this.saving = 'waiting'
    this.#timer = setTimeout(() => void this.save(), PAUSE)
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

  /** Saves at once what is waiting, and ends when that is done or has failed. `leaving`: the page is going away. */
  save(leaving = false): Promise<void> {
    clearTimeout(this.#timer)
    if (leaving) return this.#send(true)
    this.#going ??= this.#send(false).finally(() => (this.#going = null))
    return this.#going
  }

  async #send(leaving: boolean): Promise<void> {
    while (this.reel && (this.saving === 'waiting' || this.saving === 'failed') && !this.untitled) {
      this.saving = 'saving'
      this.#again = false
      try {
        const saved = await api.changeReel(this.id, this.input, leaving)
        this.reel = { ...this.reel, revision: saved.revision, updated: saved.updated }
        this.unsaved = null
        this.saving = this.#again ? 'waiting' : 'saved'
      } catch (err) {
        this.saving = 'failed'
        this.unsaved = err
        if (err instanceof ApiError && err.passing) this.#timer = setTimeout(() => void this.save(), RETRY)
        return
      }
    }
  }

  /** Gives up what could not be saved and shows what the server has. */
  async takeTheirs(): Promise<void> {
    clearTimeout(this.#timer)
    this.saving = 'saved'
    this.unsaved = null
    await this.load()
  }

  /** Keeps what is on this page, over what somebody else saved. */
  async keepMine(): Promise<void> {
    if (!this.reel) return
    try {
      const theirs = await api.reel(this.id)
      this.reel = { ...this.reel, revision: theirs.revision }
      await this.save()
    } catch (err) {
      this.unsaved = err
    }
  }
}
