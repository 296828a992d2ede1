/** What a bar can steer: one clip, or two as one. */
import type { Mark } from './player-track'

export interface Steered {
  /** There is something to show. */
  readonly ready: boolean
  readonly playing: boolean
  loop: boolean
  readonly speed: number
  /** The moment on display, µs: of a clip since its start, of two clips from the event they are lined up at. */
  readonly time: number
  /** Which of how many steps; the first is 1. */
  readonly number: number
  readonly count: number
  readonly first: boolean
  readonly last: boolean
  /** The place on the scrubber, 0 to 1. */
  readonly share: number
  play(): void
  pause(): void
  toggle(): void
  /** Pauses and moves by n steps. */
  step(n: number): void
  /** Pauses at a moment: of a clip on the session clock, of two clips from the event. */
  stopAt(at: number): void
  toShare(x: number): void
  toEnd(end: 'first' | 'last'): void
  /** Where a moment or a span, in the times of stopAt, lies on the scrubber; null when it does not. */
  markOf(at: number, until?: number | null): Mark | null
  setSpeed(speed: number): void
  /** What has a sound to switch says so. */
  readonly silent?: boolean
  setMuted?(muted: boolean): void
}
