/** One session with its lane and its server-side uploads, kept current by events. */
import * as footage from '../api/footage'
import * as sessions from '../api/sessions'
import type { Block, LaneBall, Recording, Session, Upload } from '../api/types'
import { events, type Change } from './events.svelte'
import { coalesce } from './refetch'

/** A block with how many of its balls there are. */
export interface BlockCount {
  block: Block
  balls: number
}

export class SessionState {
  readonly id: number
  session = $state.raw<Session | null>(null)
  recordings = $state.raw<Recording[]>([])
  blocks = $state.raw<Block[]>([])
  balls = $state.raw<LaneBall[]>([])
  uploads = $state.raw<Upload[]>([])
  /** Why the session could not be shown. */
  error = $state.raw<unknown>(null)

  constructor(id: number) {
    this.id = id
  }

  /** Fetches everything and follows the events. Returns the way to stop. */
  start(): () => void {
    void this.load()
    return events.on(['session', 'recording', 'upload', 'lane', 'observation'], (c) => this.#heard(c))
  }

  readonly load = coalesce(async () => {
    try {
      const [session, lane, uploads] = await Promise.all([
        sessions.session(this.id),
        sessions.lane(this.id),
        footage.uploads(this.id),
      ])
      this.session = session
      this.#lay(lane)
      this.uploads = uploads
      this.error = null
    } catch (err) {
      this.error = err
    }
  })

  readonly loadUploads = this.#quietly(async () => {
    this.uploads = await footage.uploads(this.id)
  })
  readonly #loadSession = this.#quietly(async () => {
    this.session = await sessions.session(this.id)
  })
  readonly #loadLane = this.#quietly(async () => {
    this.#lay(await sessions.lane(this.id))
  })

  /** Puts a recording that an answer brought in its place. */
  put(r: Recording): void {
    this.recordings = this.recordings.map((old) => (old.id === r.id ? r : old))
  }

  #lay(lane: { recordings: Recording[]; blocks: Block[]; balls: LaneBall[] }): void {
    this.recordings = lane.recordings
    this.blocks = lane.blocks
    this.balls = lane.balls
  }

  // What an event asks for is fetched in the background: a failure leaves what is shown, and the next event or the
  // return of the connection mends it.
  #quietly(run: () => Promise<void>): () => Promise<void> {
    return coalesce(() => run().catch(() => {}))
  }

  #heard(c: Change): void {
    if (c.topic === 'everything') return void this.load()
    if (c.session !== undefined && c.session !== this.id) return
    if (c.topic === 'upload') void this.loadUploads()
    else if (c.topic === 'recording') void Promise.all([this.#loadLane(), this.#loadSession()])
    else if (c.topic === 'lane') void Promise.all([this.#loadLane(), this.#loadSession()])
    else if (c.topic === 'observation') void this.#loadSession()
    else if (c.topic === 'session' && c.id === this.id) void this.#loadSession()
  }

  readonly counts = $derived<BlockCount[]>(
    this.blocks.map((block) => ({
      block,
      balls: this.balls.filter((b) => b.block_id === block.id && b.state !== 'discarded').length,
    })),
  )
  /** Balls that the split proposed and nobody has looked at. */
  readonly unsure = $derived(this.balls.filter((b) => b.state === 'proposed').length)
}
