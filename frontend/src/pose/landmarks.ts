/** What the pose models find, in our words. Pure. */
import type { Point } from '../api/types'

/** A point of a body, in shares of the picture that was looked at, and how sure the model is that it is to be seen. */
export interface Landmark {
  x: number
  y: number
  seen: number
}

/** Points that measures want, by the number that the model gives them. Left and right are the body's own. */
export const LANDMARKS = {
  nose: 0,
  'left-eye': 2,
  'right-eye': 5,
  'left-ear': 7,
  'right-ear': 8,
  'left-shoulder': 11,
  'right-shoulder': 12,
  'left-elbow': 13,
  'right-elbow': 14,
  'left-wrist': 15,
  'right-wrist': 16,
  'left-hip': 23,
  'right-hip': 24,
  'left-knee': 25,
  'right-knee': 26,
  'left-ankle': 27,
  'right-ankle': 28,
  'left-heel': 29,
  'right-heel': 30,
  'left-toe': 31,
  'right-toe': 32,
} as const
export type LandmarkName = keyof typeof LANDMARKS

export type Body = Readonly<Record<LandmarkName, Landmark>>

/** What the quick model finds, in its order. */
export const JOINTS = [
  'nose',
  'left-eye',
  'right-eye',
  'left-ear',
  'right-ear',
  'left-shoulder',
  'right-shoulder',
  'left-elbow',
  'right-elbow',
  'left-wrist',
  'right-wrist',
  'left-hip',
  'right-hip',
  'left-knee',
  'right-knee',
  'left-ankle',
  'right-ankle',
] as const satisfies LandmarkName[]
export type JointName = (typeof JOINTS)[number]
export type Joints = Readonly<Record<JointName, Landmark>>

/** The body in a list of the model's points; null when it is not whole. */
export function bodyOf(list: readonly Landmark[] | null | undefined): Body | null {
  if (!list || list.length < 33) return null
  return Object.fromEntries(Object.entries(LANDMARKS).map(([name, i]) => [name, list[i]!])) as Record<LandmarkName, Landmark>
}

/** The same of the quick model's. */
export function jointsOf(list: readonly Landmark[] | null | undefined): Joints | null {
  if (!list || list.length < JOINTS.length) return null
  return Object.fromEntries(JOINTS.map((name, i) => [name, list[i]!])) as Record<JointName, Landmark>
}

/** A part of a picture, in shares of it. */
export interface Box {
  x: number
  y: number
  width: number
  height: number
}

/** Points found in a part of a picture, in shares of the whole. */
export function outOf<N extends string>(box: Box, found: Readonly<Record<N, Landmark>>): Record<N, Landmark> {
  const out = Object.entries<Landmark>(found).map(([name, l]) => [name, { x: box.x + l.x * box.width, y: box.y + l.y * box.height, seen: l.seen }])
  return Object.fromEntries(out) as Record<N, Landmark>
}

/** The box with room around it, as far as the picture goes: a bat's swing and a stride leave a tight one. */
export function roomy(box: Box, by = 0.15): Box {
  const x = Math.max(0, box.x - box.width * by)
  const y = Math.max(0, box.y - box.height * by)
  return { x, y, width: Math.min(1, box.x + box.width * (1 + by)) - x, height: Math.min(1, box.y + box.height * (1 + by)) - y }
}

export const pointOf = (l: Landmark): Point => ({ x: Math.min(1, Math.max(0, l.x)), y: Math.min(1, Math.max(0, l.y)) })

/** The smallest square of the picture that holds the box, which may reach beyond the edges. `ratio`: the picture's width over its height. */
export function squared(box: Box, ratio: number): Box {
  const side = Math.max(box.width * ratio, box.height) // in heights of the picture
  const [width, height] = [side / ratio, side]
  return { x: box.x + box.width / 2 - width / 2, y: box.y + box.height / 2 - height / 2, width, height }
}
