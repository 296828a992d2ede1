/** How a picture is looked at closely: a scale and what lies in its window's corner. Pure; shares of the picture. */
import type { Point } from '../api/types'
import { clamp } from '../time/span'

export interface View {
  /** 1: the whole picture. */
  scale: number
  /** The picture's point in the window's top left corner. */
  x: number
  y: number
}

export const WHOLE: View = { scale: 1, x: 0, y: 0 }
export const CLOSEST = 12

const kept = (scale: number, x: number, y: number): View => ({ scale, x: clamp(x, 0, 1 - 1 / scale), y: clamp(y, 0, 1 - 1 / scale) })

/** The view with another scale, the window's point `at` staying where it is. */
export function zoomed(v: View, by: number, at: Point = { x: 0.5, y: 0.5 }): View {
  const scale = clamp(v.scale * by, 1, CLOSEST)
  return kept(scale, v.x + at.x / v.scale - at.x / scale, v.y + at.y / v.scale - at.y / scale)
}

/** The view moved by shares of the window. */
export const panned = (v: View, dx: number, dy: number): View => kept(v.scale, v.x - dx / v.scale, v.y - dy / v.scale)

/** A point of the window as a point of the picture. */
export const inPicture = (v: View, window: Point): Point => ({
  x: clamp(v.x + window.x / v.scale, 0, 1),
  y: clamp(v.y + window.y / v.scale, 0, 1),
})

/** A view in which a point of the picture is in the window, as near the middle as the edges let it. */
export function around(v: View, p: Point): View {
  const w = { x: (p.x - v.x) * v.scale, y: (p.y - v.y) * v.scale }
  if (w.x > 0.08 && w.x < 0.92 && w.y > 0.08 && w.y < 0.92) return v
  return kept(v.scale, p.x - 0.5 / v.scale, p.y - 0.5 / v.scale)
}

/** A view of what lies around some points, with as much room again, and no closer than `most`. */
export function closeUp(points: readonly Point[], most: number): View {
  if (points.length === 0) return WHOLE
  const [xs, ys] = [points.map((p) => p.x), points.map((p) => p.y)]
  const [left, right, top, bottom] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)]
  const scale = clamp(1 / (2 * Math.max(right - left, bottom - top)), 1, most)
  return kept(scale, (left + right) / 2 - 0.5 / scale, (top + bottom) / 2 - 0.5 / scale)
}
