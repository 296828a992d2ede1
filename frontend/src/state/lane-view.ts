/** Which part of the session the lane shows, and where on it a time lies. Pure; x in CSS pixels, times in µs. */
import { clamp, type Span } from '../time/span'

export interface View {
  /** The time at the left edge. */
  from: number
  /** Microseconds a pixel. */
  scale: number
}

/** As near as one goes: 200 pixels a second. */
const NEAREST = 5_000

/** The whole of a session on a lane of this width. */
export const whole = (all: Span, width: number): View => ({ from: all.start, scale: Math.max((all.end - all.start) / Math.max(width, 1), NEAREST) })

export const xOf = (v: View, t: number): number => (t - v.from) / v.scale
export const timeAt = (v: View, x: number): number => Math.round(v.from + x * v.scale)
export const shown = (v: View, width: number): Span => ({ start: v.from, end: v.from + width * v.scale })

/** The view kept inside the session, never further away than all of it. */
export function inside(v: View, all: Span, width: number): View {
  const far = whole(all, width).scale
  const scale = clamp(v.scale, Math.min(NEAREST, far), far)
  return { scale, from: clamp(v.from, all.start, Math.max(all.start, all.end - width * scale)) }
}

/** Nearer (factor below 1) or further away, with the time under x staying under x. */
export function zoom(v: View, factor: number, x: number, all: Span, width: number): View {
  const t = v.from + x * v.scale
  const far = whole(all, width).scale
  const scale = clamp(v.scale * factor, Math.min(NEAREST, far), far)
  return inside({ scale, from: t - x * scale }, all, width)
}

export const pan = (v: View, pixels: number, all: Span, width: number): View => inside({ ...v, from: v.from + pixels * v.scale }, all, width)

/** The view moved, if need be, so that a stretch is on it with room around. */
export function reveal(v: View, s: Span, all: Span, width: number): View {
  const room = width * v.scale * 0.1
  const now = shown(v, width)
  if (s.start >= now.start + room && s.end <= now.end - room) return v
  return inside({ ...v, from: (s.start + s.end) / 2 - (width * v.scale) / 2 }, all, width)
}

/** A ball narrower than this is looked at from nearer, so wide; pixels. */
const NARROW = 40
const WIDE = 140

/** The view in which a stretch can be worked on: brought into sight, and nearer when it would be a sliver. */
export function near(v: View, s: Span, all: Span, width: number): View {
  if ((s.end - s.start) / v.scale >= NARROW) return reveal(v, s, all, width)
  const scale = (s.end - s.start) / Math.min(WIDE, width / 3)
  return inside({ scale, from: (s.start + s.end) / 2 - (width * scale) / 2 }, all, width)
}

/** The view that goes on with the playhead while it plays: a moment that has run out on the right comes in on the left. */
export function follow(v: View, before: number, now: number, all: Span, width: number): View {
  const right = v.from + width * v.scale
  return before <= right && now > right ? inside({ ...v, from: now - width * v.scale * 0.08 }, all, width) : v
}

/** Round distances between the marks of the time line, seconds. */
const STEPS = [0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800]

/** The times to mark on the time line, about one in 90 pixels, at round times. */
export function marks(v: View, width: number): number[] {
  const step = (STEPS.find((s) => (s * 1e6) / v.scale >= 90) ?? 3600) * 1e6
  const out: number[] = []
  for (let t = Math.ceil(v.from / step) * step; t <= v.from + width * v.scale; t += step) out.push(Math.round(t))
  return out
}

/** How far from a ball a press still means it, pixels. */
const REACH = 5

/** The ball that a press means: the one under it, else the nearest within reach; of several the shortest. */
export function ballAt<B extends { start_us: number; end_us: number }>(balls: readonly B[], v: View, x: number): B | undefined {
  const off = (b: B) => Math.max(0, xOf(v, b.start_us) - x, x - xOf(v, b.end_us))
  const rank = (b: B): [number, number] => [off(b), b.end_us - b.start_us]
  return balls
    .filter((b) => off(b) <= REACH)
    .reduce<B | undefined>((best, b) => {
      if (!best) return b
      const [[o, l], [bo, bl]] = [rank(b), rank(best)]
      return o < bo || (o === bo && l < bl) ? b : best
    }, undefined)
}

/** The largest sample of a curve over each pixel: what a sharp sound leaves is seen at any distance. */
export function columns(values: Uint8Array, step: number, offset: number, v: View, width: number): Uint8Array {
  const out = new Uint8Array(width)
  for (let x = 0; x < width; x++) {
    const a = Math.floor((v.from + x * v.scale - offset) / step)
    const b = Math.max(a + 1, Math.floor((v.from + (x + 1) * v.scale - offset) / step))
    let most = 0
    for (let i = Math.max(a, 0); i < Math.min(b, values.length); i++) most = Math.max(most, values[i]!)
    out[x] = most
  }
  return out
}

/** A trace's samples as they travel: base64. */
export function samples(base64: string): Uint8Array {
  return Uint8Array.from(atob(base64), (c) => c.charCodeAt(0))
}
