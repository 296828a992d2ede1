/** Blocks on the lane: where there is room for one, and how far its edges go. Pure; blocks may touch, never overlap. */
import type { Block, LaneBall, Lane } from '../api/types'
import { clamp, length, type Span } from '../time/span'

/** The shortest block that can be laid out by hand, µs. */
export const SHORTEST_BLOCK = 1_000_000

type Placed = Pick<Block, 'id' | 'start_us' | 'end_us'>

/** The stretches of a span on which no block lies, in order. */
export function freeStretches(blocks: readonly Placed[], within: Span): Span[] {
  const out: Span[] = []
  let from = within.start
  for (const b of [...blocks].sort((a, b) => a.start_us - b.start_us)) {
    if (b.start_us > from) out.push({ start: from, end: Math.min(b.start_us, within.end) })
    from = Math.max(from, b.end_us)
  }
  out.push({ start: from, end: within.end })
  return out.filter((s) => length(s) >= SHORTEST_BLOCK)
}

/** Where a new block goes in what is shown: the free stretch at the moment, else the longest; null when all is taken. */
export function roomFor(blocks: readonly Placed[], within: Span, at: number): Span | null {
  const free = freeStretches(blocks, within)
  const here = free.find((s) => s.start <= at && at < s.end)
  return here ?? free.reduce<Span | null>((most, s) => (most && length(most) >= length(s) ? most : s), null)
}

/** How far a block may reach: from the block before it to the next one, inside all. */
function bounds(blocks: readonly Placed[], b: Placed, all: Span): Span {
  const others = blocks.filter((x) => x.id !== b.id)
  return {
    start: Math.max(all.start, ...others.filter((x) => x.end_us <= b.start_us).map((x) => x.end_us)),
    end: Math.min(all.end, ...others.filter((x) => x.start_us >= b.end_us).map((x) => x.start_us)),
  }
}

/** A block with an edge pulled to a time, or (edge "all") moved so that it starts there; kept off its neighbours. */
export function pulled(blocks: readonly Placed[], b: Placed, edge: 'start' | 'end' | 'all', to: number, all: Span): Span {
  const room = bounds(blocks, b, all)
  if (edge === 'start') return { start: clamp(to, room.start, b.end_us - SHORTEST_BLOCK), end: b.end_us }
  if (edge === 'end') return { start: b.start_us, end: clamp(to, b.start_us + SHORTEST_BLOCK, room.end) }
  const long = b.end_us - b.start_us
  const start = clamp(to, room.start, Math.max(room.start, room.end - long))
  return { start, end: start + long }
}

/** A drawn stretch with what other blocks have taken left out: the free part in which it was begun; null when too short. */
export function drawnIn(blocks: readonly Placed[], from: number, to: number, all: Span): Span | null {
  const room = freeStretches(blocks, all).find((s) => s.start <= from && from <= s.end)
  if (!room) return null
  const [a, b] = [clamp(Math.min(from, to), room.start, room.end), clamp(Math.max(from, to), room.start, room.end)]
  return b - a >= SHORTEST_BLOCK ? { start: a, end: b } : null
}

/** Blocks that long gaps between balls suggest: from the first to the last ball between two gaps, where none is laid out. */
export function proposedBlocks(blocks: readonly Placed[], kept: readonly LaneBall[], breaks: Lane['breaks']): (Span & { balls: number })[] {
  if (breaks.length === 0) return []
  const ends = [...breaks.map((b) => (b.start_us + b.end_us) / 2), Infinity]
  let from = -Infinity
  return ends.flatMap((to) => {
    const balls = kept.filter((b) => b.start_us >= from && b.start_us < to)
    from = to
    const span = { start: balls[0]?.start_us ?? 0, end: Math.max(0, ...balls.map((b) => b.end_us)), balls: balls.length }
    const taken = blocks.some((b) => b.start_us < span.end && b.end_us > span.start)
    return balls.length === 0 || taken || length(span) < SHORTEST_BLOCK ? [] : [span]
  })
}
