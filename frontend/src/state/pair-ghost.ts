/**
 * One picture laid over another: moved and made larger or smaller until feet or stumps lie on each other. Pure. Places
 * are shares of the box that both pictures are fitted into.
 */
import type { CalibrationInput, Point } from '../api/types'
import { clamp } from '../time/span'

/** A place p of the upper picture's box is shown at (x, y) + scale * p. */
export interface Fit {
  x: number
  y: number
  scale: number
}

export const AS_IT_IS: Fit = { x: 0, y: 0, scale: 1 }
const [SMALLEST, LARGEST] = [0.25, 4]

/** At least a part of the upper picture stays in sight. */
const kept = (f: Fit): Fit => ({ scale: f.scale, x: clamp(f.x, 0.1 - f.scale, 0.9), y: clamp(f.y, 0.1 - f.scale, 0.9) })

export const moved = (f: Fit, dx: number, dy: number): Fit => kept({ ...f, x: f.x + dx, y: f.y + dy })

/** Made larger by a factor; what lies at a place of the box stays there. */
export function scaled(f: Fit, by: number, at: Point = { x: 0.5, y: 0.5 }): Fit {
  const scale = clamp(f.scale * by, SMALLEST, LARGEST)
  const grown = scale / f.scale
  return kept({ scale, x: at.x - grown * (at.x - f.x), y: at.y - grown * (at.y - f.y) })
}

/** Two fingers have gone from one pair of places to another: the picture goes with them. `ar` is the box's shape. */
export function pinched(f: Fit, from: readonly [Point, Point], to: readonly [Point, Point], ar: number): Fit {
  const span = ([a, b]: readonly [Point, Point]) => Math.hypot((a.x - b.x) * ar, a.y - b.y)
  const middle = ([a, b]: readonly [Point, Point]) => ({ x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 })
  const [m, n] = [middle(from), middle(to)]
  const by = span(from) > 0.01 ? span(to) / span(from) : 1
  return moved(scaled(f, by, m), n.x - m.x, n.y - m.y)
}

/** Where a place of a picture lies in a box of another shape into which it is fitted whole, in its middle. */
export function inBox(p: Point, picture: number, box: number): Point {
  const w = Math.min(1, picture / box)
  const h = Math.min(1, box / picture)
  return { x: (1 - w) / 2 + p.x * w, y: (1 - h) / 2 + p.y * h }
}

/**
 * The fit that brings places onto others with the least squares of what is left, without turning or bending the
 * picture; null when fewer than two are apart. `off` is what is left, as a share of the box's height (root mean square).
 */
export function laidOn(from: readonly Point[], to: readonly Point[], ar: number): { fit: Fit; off: number } | null {
  const n = from.length
  if (n < 2 || n !== to.length) return null
  const mean = (list: readonly Point[]) => ({ x: list.reduce((s, p) => s + p.x, 0) / n, y: list.reduce((s, p) => s + p.y, 0) / n })
  const [a, b] = [mean(from), mean(to)]
  let [both, own] = [0, 0]
  from.forEach((p, i) => {
    const [dx, dy] = [(p.x - a.x) * ar, p.y - a.y]
    both += dx * (to[i]!.x - b.x) * ar + dy * (to[i]!.y - b.y)
    own += dx * dx + dy * dy
  })
  const scale = both / own
  if (!(own > 1e-6) || !(scale > SMALLEST && scale < LARGEST)) return null
  const fit = { scale, x: b.x - scale * a.x, y: b.y - scale * a.y }
  const left = from.map((p, i) => Math.hypot((fit.x + scale * p.x - to[i]!.x) * ar, fit.y + scale * p.y - to[i]!.y))
  return { fit, off: Math.sqrt(left.reduce((s, d) => s + d * d, 0) / n) }
}

/** The marks that were clicked in both pictures when their cameras were calibrated, as places of those pictures. */
export function sameMarks(from: Pick<CalibrationInput, 'clicks'>, to: Pick<CalibrationInput, 'clicks'>): [Point, Point][] {
  return from.clicks.flatMap((c): [Point, Point][] => {
    const other = to.clicks.find((o) => o.mark === c.mark)
    return other ? [[{ x: c.x, y: c.y }, { x: other.x, y: other.y }]] : []
  })
}
