/**
 * What the pose models see of the batters who are measured: of the ball at hand on the frame that was frozen, and of the
 * balls to come while a person looks at this one, since a model may take longer for a ball than a person does. No DOM
 * but the frozen picture, which is only handed on.
 */
import * as api from '../api/measuring'
import type { Ball, Box, Micros } from '../api/types'
import type { Glimpse } from '../pose/follow'
import type { Body } from '../pose/landmarks'
import { find, quick, whole } from '../pose/pose'
import { boxOn, lookAt, wayTo, type Look } from './batter'
import type { Track } from './player-track'

/** A frame that was frozen. */
export interface Frozen {
  picture: HTMLCanvasElement
  /** Its time on the recording's own clock, and on the session's. */
  at: Micros
  session: Micros
}

/** What is measured: the ball, off which recording, whose batter. */
export interface Subject {
  ball: Ball
  recording: number
  bats: 'right' | 'left'
  /** Its clip on the recording, to follow the batter through. */
  track: Track | null
}

/** How many balls ahead are looked at: one that takes long is made up for by those that did not. */
export const AHEAD = 3
/** How many at once: one batter is followed through a clip while the model looks at another. */
const TOGETHER = 2
/** Times of one frame that came different ways differ by less, µs; those of two frames by more. */
const SAME = 1000

const keyOf = (s: Subject) => `${s.ball.id} ${s.recording}`

/** The models and what is measured already. Tests hand in their own. */
export interface Eyes {
  usable(): boolean
  /** Gets the models ready. */
  open(): void
  on(picture: HTMLCanvasElement, box: Box | null, way: () => Promise<readonly Glimpse[]>): Promise<Body | null>
  follow(s: Subject, box: Box, signal: AbortSignal): Promise<readonly Glimpse[]>
  /** Null: there is nothing to look at, or the ball is measured already. */
  ahead(s: Subject, box: Box, signal: AbortSignal): Promise<Look | null>
}
const models: Eyes = {
  usable: () => whole.usable,
  open: () => void Promise.all([whole.open(), quick.open()]).catch(() => {}), // who asks is told
  on: async (picture, box, way) => find(picture, box && (await boxOn(picture, box, way))),
  follow: (s, box, signal) => wayTo(s.ball, s.track, box, signal),
  ahead: async (s, box, signal) => {
    if (!s.track || (await api.ballReadings(s.ball.id)).some((r) => r.recording_id === s.recording)) return null
    return lookAt(s.ball, s.track, box, signal)
  },
}

interface Following {
  stop: AbortController
  way: Promise<readonly Glimpse[]>
}

export class Looks {
  /** The batter at hand from before the ball to contact, once that was followed. */
  way = $state.raw<readonly Glimpse[]>([])
  #eyes: Eyes
  #subject: Subject | null = null
  #following: Following | null = null
  #coming: readonly Subject[] = []
  #box: Box | null = null
  #early = new Map<string, Promise<Look | null>>()
  #flying = 0
  #stop = new AbortController()

  constructor(eyes: Eyes = models) {
    this.#eyes = eyes
  }

  get usable(): boolean {
    return this.#eyes.usable()
  }

  open(): void {
    if (this.usable) this.#eyes.open()
  }

  /** Another ball is at hand. */
  turnTo(s: Subject | null): void {
    this.#subject = s
    this.#following?.stop.abort()
    this.#following = null
    this.way = []
  }

  /** The batter on a frame of the ball at hand; null: nobody was made out. */
  async on(f: Frozen, box: Box | null): Promise<Body | null> {
    const s = this.#subject
    if (!s) return null
    const early = await this.#early.get(keyOf(s))
    if (early?.body && Math.abs(early.at - f.session) < SAME) {
      if (early.way.length > 0) this.#takeWay(s, { stop: new AbortController(), way: Promise.resolve(early.way) })
      return early.body
    }
    return this.#eyes.on(f.picture, box, () => (box ? this.follow(s, box) : Promise.resolve([])))
  }

  /** Follows the batter at hand to contact, once a ball. */
  follow(s: Subject, box: Box): Promise<readonly Glimpse[]> {
    if (s !== this.#subject) return Promise.resolve([])
    if (!this.#following) {
      const stop = new AbortController()
      this.#takeWay(s, { stop, way: this.#eyes.follow(s, box, stop.signal) })
    }
    return this.#following!.way
  }

  #takeWay(s: Subject, following: Following): void {
    if (s !== this.#subject) return
    this.#following = following
    following.way.then((w) => this.#following === following && (this.way = w), () => {}) // what can't be followed is measured without
  }

  /** Looks at the balls to come, in their order. */
  ahead(coming: readonly Subject[], box: Box): void {
    this.#coming = coming
    this.#box = box
    const wanted = new Set([...coming, ...(this.#subject ? [this.#subject] : [])].map(keyOf))
    for (const key of this.#early.keys()) if (!wanted.has(key)) this.#early.delete(key)
    this.#fill()
  }

  #fill(): void {
    const { signal } = this.#stop
    while (this.#flying < TOGETHER && this.#box && this.usable) {
      const s = this.#coming.find((c) => !this.#early.has(keyOf(c)))
      if (!s) return
      const look = this.#eyes.ahead(s, this.#box, signal).catch(() => null) // it is looked at in its turn
      this.#early.set(keyOf(s), look)
      this.#flying++
      void look.then(() => {
        if (signal.aborted) return
        this.#flying--
        this.#fill()
      })
    }
  }

  /** Measuring ends. */
  close(): void {
    this.turnTo(null)
    this.#stop.abort()
    this.#stop = new AbortController()
    this.#flying = 0
    this.#coming = []
    this.#early.clear()
  }
}
