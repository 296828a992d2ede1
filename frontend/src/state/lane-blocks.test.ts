import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { drawnIn, freeStretches, pulled, roomFor, SHORTEST_BLOCK } from './lane-blocks'

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
