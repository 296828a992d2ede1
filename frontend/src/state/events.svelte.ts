/**
 * What changed on the server, from one event stream for the whole page. An event has no content: whoever cares
 * fetches the thing again.
 */
import type { ServerEvent } from '../api/types'
import { connection } from './connection.svelte'

export const TOPICS = ['recording', 'upload', 'lane', 'clip', 'observation', 'measure', 'felt', 'rules', 'reel', 'export', 'session', 'vocabulary', 'people', 'plan', 'net'] as const
export type Topic = (typeof TOPICS)[number]

/** `everything`: events may have been missed, so fetch whatever is shown. */
export interface Change {
  topic: Topic | 'everything'
  /** Of the thing; of the ball for `observation`; 0 for `everything`. */
  id: number
  session?: number
}
export type Listener = (c: Change) => void

/** What the page needs of an EventSource, so that tests can hand in their own. */
export interface Source {
  onopen: ((e: Event) => void) | null
  onmessage: ((e: MessageEvent<string>) => void) | null
  onerror: ((e: Event) => void) | null
  /** `here`: the server's sign of life. */
  addEventListener(type: 'here', fn: () => void): void
  readonly readyState: number
  close(): void
}

const CLOSED = 2
const FIRST_WAIT = 1000
const LONGEST_WAIT = 30_000
// The server gives a sign of life every 20 s. A line that is silent for longer is dead, whatever the browser thinks:
// a phone that slept, a proxy that lost the server behind it.
const SILENCE = 50_000

export class Events {
  #listeners = new Map<Listener, ReadonlySet<string>>()
  #source: Source | null = null
  #timer: ReturnType<typeof setTimeout> | undefined
  #watch: ReturnType<typeof setTimeout> | undefined
  #wait = FIRST_WAIT
  #broken = false
  #open: () => Source
  #onRefused: () => void

  /** `onRefused` is called when the server turns the stream down: the sign-in may have ended. */
  constructor(open: () => Source, onRefused: () => void = () => {}) {
    this.#open = open
    this.#onRefused = onRefused
  }

  /** Hears of `topics` (and of `everything`) until the returned function is called. */
  on(topics: readonly Topic[], fn: Listener): () => void {
    const own: Listener = (c) => fn(c)
    this.#listeners.set(own, new Set<string>(topics))
    return () => this.#listeners.delete(own)
  }

  /** Opens the stream. Call when somebody has signed in. */
  start(): void {
    if (this.#source) return
    const source = this.#open()
    this.#source = source
    this.#alive()
    source.addEventListener('here', () => this.#alive())
    source.onopen = () => {
      this.#alive()
      this.#wait = FIRST_WAIT
      connection.report(false)
      if (this.#broken) this.hear({ topic: 'everything', id: 0 })
      this.#broken = false
    }
    source.onmessage = (e) => {
      this.#alive()
      this.#receive(e.data)
    }
    source.onerror = () => {
      this.#broken = true
      // The browser tries again by itself unless the server refused.
      if (source.readyState !== CLOSED) return
      clearTimeout(this.#watch)
      source.close()
      this.#source = null
      this.#onRefused()
      this.#timer = setTimeout(() => this.start(), this.#wait)
      this.#wait = Math.min(this.#wait * 2, LONGEST_WAIT)
    }
  }

  /** Closes the stream. Listeners stay for the next start. */
  stop(): void {
    clearTimeout(this.#timer)
    clearTimeout(this.#watch)
    this.#source?.close()
    this.#source = null
    this.#broken = false
    this.#wait = FIRST_WAIT
  }

  #alive(): void {
    clearTimeout(this.#watch)
    this.#watch = setTimeout(() => {
      this.#broken = true
      this.#source?.close()
      this.#source = null
      this.start()
    }, SILENCE)
  }

  #receive(data: string): void {
    let e: ServerEvent
    try {
      e = JSON.parse(data) as ServerEvent
    } catch {
      return // not of ours
    }
    if (typeof e?.topic === 'string') this.hear(e as Change)
  }

  /** Hands a change on as if the server had told of it: for what was done here. */
  hear(c: Change): void {
    for (const [fn, topics] of [...this.#listeners]) {
      if (c.topic === 'everything' || topics.has(c.topic)) fn(c)
    }
  }
}

import { me } from './me.svelte'

export const events = new Events(
  () => new EventSource('/api/events'),
  () => void me.load(),
)
