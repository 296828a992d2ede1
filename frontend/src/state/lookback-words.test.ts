import fc from 'fast-check'
import { describe, expect, it, test } from 'vitest'
import type { Rate } from '../api/types'
import { amount, chance, meanWords, outline, points, range, rateWords, scale, SHAPES, slice, spread, stretches } from './lookback-words'

const rate = (hits: number, of: number, low = 0, high = 1): Rate => ({
  key: 'k', name: 'In control', means: '', hits: { n: hits, question: '' }, of: { n: of, question: '' }, disputed: { n: 0, question: '' },
  share: of ? { value: hits / of, low, high, gap: '' } : { value: 0, low: 0, high: 0, gap: 'no balls' },
})

test('a rate in words, never more than it knows', () => {
  expect(rateWords(rate(24, 31, 0.602, 0.886))).toBe('24 of 31, 77 % (60 to 89 %)')
  expect(rateWords(rate(2, 3))).toBe('2 of 3: too few to tell')
  expect(rateWords(rate(0, 0))).toBe('nothing coded yet')
  expect(range(rate(0, 0).share)).toBe('no balls')
})
test('differences and chances', () => {
  expect([points(0.124), points(-0.08), points(0.001)]).toEqual(['+12', '−8', '0'])
  expect([chance(0.0004), chance(0.0326), chance(0.31)]).toEqual(['under 0.001', '0.033', '0.31'])
})
test('measures with their unit', () => {
  const m = { key: 'base-width', name: 'Base', unit: 'cm', digits: 0, balls: { n: 3, question: '' }, mean: { value: 54.2, low: 44.1, high: 64.3, gap: '' } }
  expect(meanWords(m)).toBe('54 cm (44 to 64)')
  expect(meanWords({ ...m, mean: { value: 0, low: 0, high: 0, gap: 'one ball only' } })).toBe('one ball only')
  expect(amount(-0.4219, { unit: 's', digits: 2 })).toBe('−0.42 s')
})
describe('what is drawn', () => {
  it('has a shape of its own for each sort of contact', () => {
    const all = SHAPES.map((s) => outline(s, 0, 0, 5))
    expect(new Set(all).size).toBe(SHAPES.length - 1) // middled and let go are a disc and a ring
    for (const path of all) expect(path).not.toMatch(/NaN|undefined/)
  })
  it('fills the whole with its parts', () => {
    expect(stretches([1, 0, 3])).toEqual([{ from: 0, to: 0.25 }, { from: 0.25, to: 0.25 }, { from: 0.25, to: 1 }])
    expect(stretches([0, 0])).toEqual([{ from: 0, to: 0 }, { from: 0, to: 0 }])
  })
  it('keeps marks inside their zone, each in a place of its own', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 60 }), fc.double({ min: 0.05, max: 5, noNaN: true }), fc.double({ min: 0.05, max: 5, noNaN: true }), (n, w, h) => {
        const places = spread(n, 1, 2, 1 + w, 2 + h)
        expect(places).toHaveLength(n)
        for (const p of places) {
          expect(p.x).toBeGreaterThan(1)
          expect(p.x).toBeLessThan(1 + w)
          expect(p.y).toBeGreaterThan(2)
          expect(p.y).toBeLessThan(2 + h)
        }
        expect(new Set(places.map((p) => `${p.x} ${p.y}`)).size).toBe(n)
      }),
    )
  })
  it('has an axis for any values', () => {
    expect(scale([])).toEqual([0, 1])
    const [low, high] = scale([5, 5])
    expect(high).toBeGreaterThan(low)
    expect(scale([40, 60])).toEqual([38, 62])
  })
  it('draws slices from straight up, clockwise', () => {
    expect(slice(0, 90, 10)).toBe('M0 0L0.00 -10.00A10.00 10.00 0 0 1 10.00 -0.00z')
  })
})
