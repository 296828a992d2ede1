/**
 * A body followed from frame to frame: where it was seen last says where to look next, so that a box drawn once is enough.
 * Pure. Places are shares of the picture.
 */
import type { Micros } from '../api/types'
import { clamp } from '../time/span'
import { JOINTS, type Box, type JointName, type Joints, type Landmark } from './landmarks'

/** A body on one frame, and the box in which it lay. */
export interface Glimpse {
  /** The frame's time on the session clock. */
  at: Micros
  joints: Joints
  box: Box
}

// By trial on a film of people walking: of a body that is there two thirds of the points are above FAINT, of none hardly any.
const FAINT = 0.2
const ENOUGH = 9
/** How much larger than the body's points the box is, and how much it may grow or shrink from frame to frame. */
const ROOM = 1.5
const GROWTH = 1.15

const clear = (joints: Joints): Landmark[] => Object.values<Landmark>(joints).filter((l) => l.seen > FAINT)

/** Whether a body is there, going by how many of its points were seen. */
export const isThere = (joints: Joints | null): joints is Joints => joints !== null && clear(joints).length >= ENOUGH

/** The least box that holds what was seen of a body. */
export function tight(joints: Joints): Box {
  const seen = clear(joints)
  const [xs, ys] = [seen.map((l) => l.x), seen.map((l) => l.y)]
  const [x, y] = [Math.min(...xs), Math.min(...ys)]
  return { x, y, width: Math.max(...xs) - x, height: Math.max(...ys) - y }
}

/** Room around a body's points, in shares of its longer side: soles, toes and the hair lie outside them, and so does a shoe where ankles are close together. */
const MARGIN = 0.2

/** The box in which a body lies as a whole, as far as it is in the picture. `ratio`: the picture's width over its height. */
export function whereabouts(joints: Joints, ratio: number): Box {
  const { x, y, width, height } = tight(joints)
  const room = MARGIN * Math.max(width * ratio, height)
  const [left, top] = [Math.max(0, x - room / ratio), Math.max(0, y - room)]
  return { x: left, y: top, width: Math.min(1, x + width + room / ratio) - left, height: Math.min(1, y + height + room) - top }
}

/** Where to look on the next frame: around where the body was, if it was seen. `ratio`: the picture's width over its height. */
export function next(box: Box, joints: Joints | null, ratio: number): Box {
  if (!isThere(joints)) return box
  const around = tight(joints)
  const before = Math.max(box.width * ratio, box.height)
  const side = clamp(ROOM * Math.max(around.width * ratio, around.height), before / GROWTH, before * GROWTH)
  const [width, height] = [side / ratio, side]
  return { x: around.x + around.width / 2 - width / 2, y: around.y + around.height / 2 - height / 2, width, height }
}

const median = (of: number[]): number => of.toSorted((a, b) => a - b)[Math.floor(of.length / 2)]!
const FEET = ['left-ankle', 'right-ankle'] as const satisfies JointName[]
const STILL = 0.35 // of the glimpses: in the first of them the batter waits
const MOVED = 0.05 // of the body's height in the picture, some 8 cm: more than a foot's point trembles

/**
 * When the feet first move for good: the last glimpse in which both are still where they were while the batter waited, and
 * the one after it. Null: they never do, or too little was seen.
 */
export function firstMove(track: readonly Glimpse[], ratio: number): { still: Micros; moved: Micros } | null {
  const waiting = track.slice(0, Math.ceil(track.length * STILL))
  if (waiting.length < 4) return null
  const size = median(waiting.map((g) => tight(g.joints).height))
  const home = FEET.map((f) => [median(waiting.map((g) => g.joints[f].x)), median(waiting.map((g) => g.joints[f].y))] as const)
  const away = (g: Glimpse) => Math.max(...FEET.map((f, i) => Math.hypot((g.joints[f].x - home[i]![0]) * ratio, g.joints[f].y - home[i]![1])))
  const last = track.findLastIndex((g) => away(g) < MOVED * size)
  const [still, moved] = [track[last], track[last + 1]]
  // A foot that only trembles is home again at the end.
  return still && moved && last >= waiting.length - 1 ? { still: still.at, moved: moved.at } : null
}

/** The way of a joint, as far as it was seen. */
export const wayOf = (track: readonly Glimpse[], joint: (typeof JOINTS)[number]): { x: number; y: number }[] =>
  track.map((g) => g.joints[joint]).filter((l) => l.seen > FAINT).map(({ x, y }) => ({ x, y }))
