/** What the numbers of a look-back say in words, and what marks a ball in a chart. Pure. */
import type { Estimate, Mean, Rate, Tally } from '../api/types'

/** The address that opens the balls behind a number; undefined when none can. */
export const opens = (t: Tally): string | undefined => (t.question ? `/find?${t.question}` : undefined)

export const balls = (n: number): string => (n === 1 ? '1 ball' : `${n} balls`)

/** "77 %". */
export const percent = (share: number): string => `${Math.round(share * 100)} %`

/** "60 to 89 %", or why there is no such interval. */
export const range = (e: Estimate): string => (e.gap ? e.gap : `${Math.round(e.low * 100)} to ${Math.round(e.high * 100)} %`)

/** Under how many balls a share is not shown by itself: it would say more than it knows (common practice, no source). */
export const FEW = 5

export const tooFew = (r: Rate): boolean => r.of.n < FEW

/** A rate in words: "24 of 31, 77 % (60 to 89 %)"; "2 of 3: too few to tell". */
export function rateWords(r: Rate): string {
  if (r.of.n === 0) return 'nothing coded yet'
  const counts = `${r.hits.n} of ${r.of.n}`
  return tooFew(r) ? `${counts}: too few to tell` : `${counts}, ${percent(r.share.value)} (${range(r.share)})`
}

/** A value of a measure with its unit: "54 cm", "0.42 s". */
export const amount = (value: number, of: { unit: string; digits: number }): string => `${value.toFixed(of.digits).replace('-', '−')} ${of.unit}`

/** A mean in words: "54 cm (44 to 64)"; why there is none. */
export const meanWords = (m: Mean): string =>
  m.mean.gap || `${amount(m.mean.value, m)} (${m.mean.low.toFixed(m.digits).replace('-', '−')} to ${m.mean.high.toFixed(m.digits).replace('-', '−')})`

/** Signed, in points of a hundred: "+12", "−8", "0". */
export function points(d: number): string {
  const n = Math.round(d * 100)
  return n > 0 ? `+${n}` : n < 0 ? `−${-n}` : '0'
}

/** A chance: "0.032", "under 0.001". */
export const chance = (p: number): string => (p < 0.001 ? 'under 0.001' : p.toFixed(p < 0.1 ? 3 : 2))

/** The marks of what became of a ball: a colour, and a shape for those who do not see it. */
export const SHAPES = ['middled', 'mistimed', 'edged', 'missed', 'let-go', 'other'] as const
export type Shape = (typeof SHAPES)[number]

/** The outline of a shape of radius r about (x, y); `let-go` is a ring, `missed` a cross, drawn by strokes. */
export function outline(shape: string, x: number, y: number, r: number): string {
  const p = (dx: number, dy: number) => `${(x + dx * r).toFixed(2)} ${(y + dy * r).toFixed(2)}`
  const circle = `M${p(-1, 0)}A${r} ${r} 0 1 0 ${p(1, 0)}A${r} ${r} 0 1 0 ${p(-1, 0)}z`
  switch (shape) {
    case 'mistimed':
      return `M${p(0, -1.15)}L${p(1.1, 0.85)}L${p(-1.1, 0.85)}z`
    case 'edged':
      return `M${p(-0.9, -0.9)}L${p(0.9, -0.9)}L${p(0.9, 0.9)}L${p(-0.9, 0.9)}z`
    case 'missed':
      return `M${p(-0.9, -0.9)}L${p(0.9, 0.9)}M${p(0.9, -0.9)}L${p(-0.9, 0.9)}`
    case 'other':
      return `M${p(0, -1.2)}L${p(1.2, 0)}L${p(0, 1.2)}L${p(-1.2, 0)}z`
    default:
      return circle
  }
}

/** Shares of a whole as stretches of 0 to 1 laid end to end. */
export function stretches(counts: readonly number[]): { from: number; to: number }[] {
  const all = counts.reduce((a, b) => a + b, 0)
  let at = 0
  return counts.map((n) => {
    const from = at
    at += all > 0 ? n / all : 0
    return { from, to: at }
  })
}

/** Places for n marks in a rectangle, in rows that fill it evenly: where in a zone a ball pitched is not known. */
export function spread(n: number, x0: number, y0: number, x1: number, y1: number): { x: number; y: number }[] {
  const [w, h] = [x1 - x0, y1 - y0]
  const columns = Math.max(1, Math.min(n, Math.round(Math.sqrt((n * w) / h))))
  const rows = Math.ceil(n / columns)
  return Array.from({ length: n }, (_, i) => {
    const [row, column] = [Math.floor(i / columns), i % columns]
    const across = row === rows - 1 ? n - row * columns : columns
    return { x: x0 + (w * (column + 0.5)) / across, y: y0 + (h * (row + 0.5)) / rows }
  })
}

/** The ends of an axis that holds all values with some room; never of no length. */
export function scale(values: readonly number[]): [number, number] {
  const [low, high] = [Math.min(...values), Math.max(...values)]
  if (!Number.isFinite(low)) return [0, 1]
  const room = Math.max((high - low) * 0.1, Math.abs(high) * 0.02, 1e-6)
  return [low - room, high + room]
}

/** A slice of a circle about the origin, angles in degrees from straight up, clockwise positive. */
export function slice(from: number, to: number, r: number): string {
  const at = (deg: number) => `${(r * Math.sin((deg * Math.PI) / 180)).toFixed(2)} ${(-r * Math.cos((deg * Math.PI) / 180)).toFixed(2)}`
  return `M0 0L${at(from)}A${r.toFixed(2)} ${r.toFixed(2)} 0 ${to - from > 180 ? 1 : 0} 1 ${at(to)}z`
}
