/** Drawings on a picture: how strokes are made, and when a kept one is shown. Pure; points are shares of the picture. */
import type { Drawing, Observation, Point, Stroke } from '../api/types'
import { clamp } from '../time/span'
import { frameOf, timeAt, type Track } from './player-track'

/** The four tones, by number; their colours are tokens of the style. */
export const TONES = ['Amber', 'White', 'Teal', 'Coral'] as const

/** As many as the server takes, and few enough that a whole drawing travels in one request. */
const MAX_STROKES = 100
const MAX_POINTS = 2_000
const MAX_ALL_POINTS = 15_000

/** Points nearer to each other than this add nothing that an eye could see. */
const NEAR = 0.0025

const round = (v: number) => Math.round(clamp(v, 0, 1) * 10_000) / 10_000

export const point = (x: number, y: number): Point => ({ x: round(x), y: round(y) })

export function begin(at: Point, straight: boolean, tone: number): Stroke {
  return { straight, tone, points: [at] }
}

/** The stroke with the pen at another place: a line's end moves there, a freehand line grows. */
export function draw(s: Stroke, to: Point): Stroke {
  if (s.straight) return { ...s, points: [s.points[0]!, to] }
  const last = s.points.at(-1)!
  if (s.points.length >= MAX_POINTS || Math.hypot(to.x - last.x, to.y - last.y) < NEAR) return s
  return { ...s, points: [...s.points, to] }
}

/** A stroke as it is kept; null when the pen has hardly moved. */
export function finish(s: Stroke): Stroke | null {
  const [a, b] = [s.points[0]!, s.points.at(-1)!]
  if (s.points.length < 2 || (s.straight && Math.hypot(a.x - b.x, a.y - b.y) < NEAR)) return null
  return s
}

/** Whether the drawing takes another stroke. */
export function roomFor(strokes: readonly Stroke[]): boolean {
  return strokes.length < MAX_STROKES && strokes.reduce((n, s) => n + s.points.length, 0) < MAX_ALL_POINTS
}

/** A stroke as the `d` of an SVG path, in a picture of this size. Freehand lines are smoothed between the points. */
export function pathOf(s: Stroke, width: number, height: number): string {
  const at = (p: Point) => `${(p.x * width).toFixed(1)} ${(p.y * height).toFixed(1)}`
  const [first, ...others] = s.points
  if (!first) return ''
  const last = others.at(-1)
  if (!last) return `M${at(first)}l0.1 0`
  if (s.straight || others.length < 2) return `M${at(first)}${others.map((p) => `L${at(p)}`).join('')}`
  const curves = others.slice(0, -1).map((p, i) => {
    const next = others[i + 1]!
    return `Q${at(p)} ${at({ x: (p.x + next.x) / 2, y: (p.y + next.y) / 2 })}`
  })
  return `M${at(first)}${curves.join('')}L${at(last)}`
}

/** An observation that is a drawing on a recording's picture. */
export interface Kept {
  uuid: string
  coder: number
  at: number
  drawing: Drawing
}

/** The drawings of what was seen that lie on this recording. */
export function keptOn(seen: readonly Observation[], recording: number): Kept[] {
  return seen.flatMap((o) =>
    o.drawing && o.at_us !== null && (o.recording_id ?? recording) === recording
      ? [{ uuid: o.uuid, coder: o.coder_id, at: o.at_us, drawing: o.drawing }]
      : [],
  )
}

/** The frame on which a drawing was made. */
const frameFor = (k: Kept, t: Track): number => frameOf(t, timeAt(t, k.at))

/**
 * The drawings to show: paused, those of this very frame; playing, those whose moment is at most a second of the
 * viewer's own time ago.
 */
export function showing(kept: readonly Kept[], t: Track, frame: number, playing: boolean, speed: number): Kept[] {
  const now = t.frames[frame] ?? 0
  return kept.filter((k) => {
    const own = frameFor(k, t)
    if (!playing) return own === frame
    return own <= frame && now - t.frames[own]! <= speed * 1e6
  })
}

/** The frame to stop at when play has gone from one frame on to another; null when no drawing lies between. */
export function stopAt(kept: readonly Kept[], t: Track, before: number, now: number): number | null {
  const passed = kept.map((k) => frameFor(k, t)).filter((f) => before < f && f <= now)
  return passed.length > 0 ? Math.min(...passed) : null
}
