import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import type { LaneBall } from '../api/types'
import { drawnIn, freeStretches, proposedBlocks, pulled, roomFor, SHORTEST_BLOCK } from './lane-blocks'

const all = { start: 0, end: 600e6 }
const block = (id: number, start: number, end: number) => ({ id, start_us: start * 1e6, end_us: end * 1e6 })
const three = [block(1, 10, 100), block(2, 100, 200), block(3, 300, 400)]
const seconds = (s: { start: number; end: number } | null) => s && [s.start / 1e6, s.end / 1e6]

test('free stretches lie between the blocks', () => {
  expect(freeStretches(three, all).map(seconds)).toEqual([[0, 10], [200, 300], [400, 600]])
  expect(freeStretches(three, { start: 50e6, end: 250e6 }).map(seconds)).toEqual([[200, 250]])
  expect(freeStretches([], all).map(seconds)).toEqual([[0, 600]])
})

describe('room for a new block', () => {
  test('is where the playhead stands', () => expect(seconds(roomFor(three, all, 5e6))).toEqual([0, 10]))
  test('else the longest stretch', () => expect(seconds(roomFor(three, all, 150e6))).toEqual([400, 600]))
  test('is none when all is taken', () => expect(roomFor([block(1, 0, 600)], all, 0)).toBeNull())
})

describe('a drawn block', () => {
  test('ends where the next one begins', () => expect(seconds(drawnIn(three, 250e6, 350e6, all))).toEqual([250, 300]))
  test('may be drawn backwards', () => expect(seconds(drawnIn(three, 290e6, 210e6, all))).toEqual([210, 290]))
  test('is none on another block, or when too short', () => {
    expect(drawnIn(three, 150e6, 250e6, all)).toBeNull()
    expect(drawnIn(three, 250e6, 250.5e6, all)).toBeNull()
  })
})

test('however blocks are pulled, none overlaps another, leaves the session or gets too short', () => {
  const pull = fc.record({ which: fc.nat(2), edge: fc.constantFrom('start', 'end', 'all' as const), to: fc.integer({ min: -50_000_000, max: 700_000_000 }) })
  fc.assert(
    fc.property(fc.array(pull, { maxLength: 30 }), (pulls) => {
      let blocks = three
      for (const { which, edge, to } of pulls) {
        const b = blocks[which]!
        const s = pulled(blocks, b, edge as 'start' | 'end' | 'all', to, all)
        if (edge === 'all') expect(s.end - s.start).toBe(b.end_us - b.start_us)
        blocks = blocks.map((x) => (x === b ? { ...x, start_us: s.start, end_us: s.end } : x))
        const order = [...blocks].sort((x, y) => x.start_us - y.start_us)
        order.forEach((x, i) => {
          expect(x.start_us).toBeGreaterThanOrEqual(order[i - 1]?.end_us ?? all.start)
          expect(x.end_us - x.start_us).toBeGreaterThanOrEqual(SHORTEST_BLOCK)
          expect(x.end_us).toBeLessThanOrEqual(all.end)
        })
      }
    }),
  )
})

describe('blocks that gaps suggest', () => {
  const at = (start: number): LaneBall => ({
    id: start, number: start, start_us: start * 1e6, contact_us: null, end_us: (start + 3) * 1e6, confidence: 1, struck: null, origin: 'split',
    state: 'proposed', revision: 1, block_id: null, player_id: null, batter_id: null,
  })
  const balls = [0, 8, 16, 90, 98].map(at)
  const gap = [{ start_us: 19e6, end_us: 90e6 }]
  test('from the first to the last ball between two gaps', () => {
    expect(proposedBlocks([], balls, gap)).toEqual([
      { start: 0, end: 19e6, balls: 3 },
      { start: 90e6, end: 101e6, balls: 2 },
    ])
  })
  test('none without a gap, none where a block is laid out', () => {
    expect(proposedBlocks([], balls, [])).toEqual([])
    expect(proposedBlocks([{ id: 1, start_us: 10e6, end_us: 12e6 }], balls, gap).map((s) => s.balls)).toEqual([2])
    expect(proposedBlocks([], [], gap)).toEqual([])
  })
})
