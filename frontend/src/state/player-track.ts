/**
 * Which frames of a clip's file belong to the ball, and where to seek for each. Pure arithmetic over presentation
 * times: a frame is known by its time, never by its number times a nominal rate, since phones record variable rates.
 */
import type { Clip, Micros } from '../api/types'
import { clamp, type Span } from '../time/span'

/** Times are rounded to whole microseconds on both sides; frames at 240 a second are 4167 apart. */
const TOLERANCE = 500

/** A clip's file as the player needs it. `start` and `end` bound the ball on the file's own clock. */
export interface Track {
  url: string
  frames: readonly Micros[]
  start: Micros
  end: Micros
  /** Indices of the ball's first and last frame. */
  first: number
  last: number
  /** Where the ball's start lies on the session clock, and how much faster that clock runs. */
  session: Micros
  ppm: number
}

/** The track of a clip; null while it has no file. `ppm` is its recording's clock rate, parts per million. */
export function trackOf(clip: Clip, ppm = 0): Track | null {
  const file = clip.file
  const zero = file?.frames_us[0]
  if (!file || zero === undefined) return null
  const frames = file.frames_us
  const start = zero + file.lead_us
  const end = start + Math.round((clip.end_us - clip.start_us) / (1 + ppm / 1e6))
  const first = Math.min(lowerBound(frames, start - TOLERANCE), frames.length - 1)
  const last = Math.max(first, lowerBound(frames, end - TOLERANCE) - 1)
  return { url: file.url, frames, start, end, first, last, session: clip.start_us, ppm }
}

/** The number of times below t; the index of the first that is not. */
function lowerBound(frames: readonly Micros[], t: Micros): number {
  let low = 0
  let high = frames.length
  while (low < high) {
    const mid = (low + high) >> 1
    if (frames[mid]! < t) low = mid + 1
    else high = mid
  }
  return low
}

/** The frame that is on display at t: the last one that has begun. */
export function frameAt(frames: readonly Micros[], t: Micros): number {
  return Math.max(0, lowerBound(frames, t + 1) - 1)
}

/** The frame whose own time is nearest to t: for times that name a frame, but went through a float. */
export function nearestFrame(frames: readonly Micros[], t: Micros): number {
  const k = frameAt(frames, t)
  const next = frames[k + 1]
  return next !== undefined && next - t < t - frames[k]! ? k + 1 : k
}

/**
 * Where to seek so that exactly frame k is shown: the middle of its time on display. A seek to its very beginning
 * lands on the frame before it now and then.
 */
export function middleOf(frames: readonly Micros[], k: number): Micros {
  const at = frames[k]!
  const next = frames[k + 1]
  if (next !== undefined) return Math.round((at + next) / 2)
  const before = frames[k - 1]
  return before === undefined ? at : at + Math.round((at - before) / 2)
}

/** Time of frame k since the ball's start, never below 0. */
export const timeOf = (t: Track, k: number): Micros => Math.max(0, t.frames[k]! - t.start)

/** A time since the ball's start on the session clock. */
export const sessionOf = (t: Track, time: Micros): Micros => t.session + time + Math.round((time * t.ppm) / 1e6)

/** A time of the session clock as time since the ball's start. */
export const timeAt = (t: Track, session: Micros): Micros => Math.round((session - t.session) / (1 + t.ppm / 1e6))

/** The ball's frame that is on display at a time since its start. */
export const frameOf = (t: Track, time: Micros): number => clamp(frameAt(t.frames, t.start + time), t.first, t.last)

/** How long the ball is. */
export const lengthOf = (t: Track): Micros => t.end - t.start

/** A moment on the scrubber, in shares of the ball's length. */
export interface Mark {
  at: number
  until: number | null
}

/** Where a moment or a span of the session clock lies on the scrubber; null when it is outside the ball. */
export function markOf(t: Track, at: Micros, until: Micros | null = null): Mark | null {
  const span: Span = { start: timeAt(t, at), end: timeAt(t, until ?? at) }
  const length = lengthOf(t)
  if (span.end < 0 || span.start > length) return null
  const share = (us: Micros) => clamp(us / length, 0, 1)
  return { at: share(span.start), until: until === null ? null : share(span.end) }
}
