/**
 * Two clips as one: the steps through both, lined up at an event. Pure. A time here is in whole microseconds from the
 * event, which is at nought in both, by the frames' own times; before it is negative.
 */
import { frameOf, nearestFrame, timeAt, type Track } from './player-track'
import { clamp } from '../time/span'

/** A clip with the frame that shows the event. */
export interface Side {
  track: Track
  anchor: number
}

/** The side of a clip whose event is at a moment of the session clock, moved by some frames. */
export function sideOf(track: Track, event: number, shift = 0): Side {
  return { track, anchor: clamp(frameOf(track, timeAt(track, event)) + shift, track.first, track.last) }
}

/** When a frame of a side is, from the event. */
export const fromEvent = (s: Side, k: number): number => s.track.frames[k]! - s.track.frames[s.anchor]!

/** The frame that a side shows at a time: the nearest; before its beginning the first, after its end the last. */
export function shownAt(s: Side, t: number): number {
  return clamp(nearestFrame(s.track.frames, t + s.track.frames[s.anchor]!), s.track.first, s.track.last)
}

/** How far a side's frames are apart, on the average. */
export function gapOf({ track: { frames, first, last } }: Side): number {
  return last > first ? (frames[last]! - frames[first]!) / (last - first) : 0
}

/** Which side leads: the one with more frames a second, else the left one. */
export function leader(sides: readonly Side[]): number {
  const [left, right] = sides
  return left && right && gapOf(right) < gapOf(left) * 0.98 ? 1 : 0
}

const beatsOfOne = (s: Side): number[] => s.track.frames.slice(s.track.first, s.track.last + 1).map((_, i) => fromEvent(s, s.track.first + i))

/** The steps through both sides, ascending: each frame of the one that leads, and where it has none the other's. */
export function beatsOf(sides: readonly Side[]): number[] {
  const [left, right] = sides
  if (!left) return []
  if (!right) return beatsOfOne(left)
  const [main, other] = leader(sides) === 0 ? [left, right] : [right, left]
  const own = beatsOfOne(main)
  const apart = gapOf(main) / 2
  const theirs = beatsOfOne(other)
  return [...theirs.filter((t) => t < own[0]! - apart), ...own, ...theirs.filter((t) => t > own.at(-1)! + apart)]
}

/** The place of the beat that is nearest to a time. */
export const nearestBeat = (beats: readonly number[], t: number): number => nearestFrame(beats, t)

/** Whether a side has something to play at a time. */
export function moves(s: Side, t: number): boolean {
  return fromEvent(s, s.track.first) <= t && t < fromEvent(s, s.track.last)
}
