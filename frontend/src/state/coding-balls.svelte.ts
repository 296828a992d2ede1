/** The balls of a session as the coding page has them: fetched, kept fresh, and with what is still to be saved. */
import * as balls from '../api/balls'
import { ApiError } from '../api/error'
import * as sessions from '../api/sessions'
import type { Ball, Block, Entry, Observation, Recording, Session, Vocabulary } from '../api/types'
import { vocabulary } from '../api/vocabulary'
import type { Change } from './events.svelte'

/** What is asked of the server. Tests hand in their own. */
export interface Source {
  session(id: number): Promise<Session>
  lane(id: number): Promise<{ blocks: Block[]; recordings: Recording[] }>
  sessionBalls(id: number): Promise<Ball[]>
  ball(id: number): Promise<Ball>
  vocabulary(): Promise<Vocabulary>
}
const server: Source = { ...sessions, ...balls, vocabulary: () => vocabulary() }

const ALL = 0
const MANY = 4 // more than so many single balls are fetched as all

export class Balls {
  session = $state.raw<Session | null>(null)
  vocabulary = $state.raw<Vocabulary | null>(null)
  blocks = $state.raw<readonly Block[]>([])
  recordings = $state.raw<readonly Recording[]>([])
  all = $state.raw<readonly Ball[]>([])
  loaded = $state(false)
  /** Why the page could not be opened. */
  problem = $state.raw<unknown>(null)

  readonly id: number
  #source: Source
  #due = new Set<number>()
  #running = false
  #saves = 0

  constructor(id: number, source: Source = server) {
    this.id = id
    this.#source = source
  }

  async load(): Promise<void> {
    this.problem = null
    try {
      const [session, lane, words, all] = await Promise.all([
        this.#source.session(this.id),
        this.#source.lane(this.id),
        this.#source.vocabulary(),
        this.#source.sessionBalls(this.id),
      ])
      this.session = session
      this.vocabulary = words
      this.#lay(lane)
      this.all = all
      this.loaded = true
    } catch (err) {
      this.problem = err
    }
  }

  get(id: number): Ball | undefined {
    return this.all.find((b) => b.id === id)
  }

  /** The server has kept entries: what now holds on the balls they speak of. */
  saved(entries: readonly Entry[], holds: readonly Observation[]): void {
    this.#saves++
    const spoken = new Set(entries.map((e) => e.ball_id))
    this.all = this.all.map((b) => (spoken.has(b.id) ? { ...b, seen: holds.filter((o) => o.ball_id === b.id) } : b))
  }

  /** Something of the squad changed. */
  changed(c: Change): void {
    if (c.topic !== 'everything' && c.session !== undefined && c.session !== this.id) return
    if (c.topic === 'observation' || c.topic === 'measure') this.#want(this.get(c.id) ? c.id : ALL)
    else if (c.topic === 'clip') this.#want(this.all.find((b) => b.clips.some((k) => k.id === c.id))?.id ?? ALL)
    else this.#want(ALL)
  }

  #want(ball: number): void {
    this.#due.add(ball)
    if (!this.#running && this.loaded) void this.#refresh()
  }

  /** Fetches what is due until nothing is. What becomes due meanwhile is fetched together afterwards. */
  async #refresh(): Promise<void> {
    this.#running = true
    while (this.#due.size > 0) {
      const ids = [...this.#due]
      this.#due.clear()
      const saves = this.#saves
      try {
        const take = ids.includes(ALL) || ids.length > MANY ? await this.#fetchAll() : await this.#fetch(ids)
        // What was saved meanwhile may not be in the answer: ask again rather than let it vanish for a moment.
        if (saves === this.#saves) take()
        else for (const id of ids) this.#due.add(id)
      } catch {
        break // the event stream says "everything" when the server is back
      }
    }
    this.#running = false
  }

  async #fetchAll(): Promise<() => void> {
    const [session, lane, words, all] = await Promise.all([
      this.#source.session(this.id),
      this.#source.lane(this.id),
      this.#source.vocabulary(),
      this.#source.sessionBalls(this.id),
    ])
    return () => {
      this.session = session
      this.vocabulary = words
      this.#lay(lane)
      this.all = all
    }
  }

  async #fetch(ids: number[]): Promise<() => void> {
    const fresh = await Promise.all(ids.map((id) => this.#one(id)))
    return () => {
      const by = new Map(ids.map((id, i) => [id, fresh[i]]))
      this.all = this.all.flatMap((b) => (by.has(b.id) ? (by.get(b.id) ?? []) : b))
    }
  }

  async #one(id: number): Promise<Ball | null> {
    try {
      const b = await this.#source.ball(id)
      return b.state === 'discarded' ? null : b
    } catch (err) {
      if (err instanceof ApiError && err.notFound) return null
      throw err
    }
  }

  #lay(lane: { blocks: Block[]; recordings: Recording[] }): void {
    this.blocks = lane.blocks
    this.recordings = lane.recordings
  }
}
