import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { balls, buildBlocks, full, MAX_BALLS, MAX_TYPES, shareOut, total, upperBody } from './plan-build'

const code = fc.constantFrom('shot=pull', 'shot=drive', 'length=yorker', 'height=head', 'base=narrow', 'shot=evade', 'length=good')

describe('blocks from what there is to work on', () => {
  it('settle in with it, then mix it with what is unlike it', () => {
    const [first, mixed] = buildBlocks(['shot=pull'], 30, null)
    expect(first!.types.map((t) => t.length)).toEqual(['short'])
    expect(mixed!.types.map((t) => t.length)).toEqual(['short', 'full'])
    expect(mixed!.order).toBe('random')
  })
  it('are full, good and short when nothing names a ball', () => {
    expect(buildBlocks(['base=narrow'], 30, null)[1]!.types.map((t) => t.length)).toEqual(['full', 'good', 'short'])
  })
  it('fit the time and the limits, whatever it is', () => {
    fc.assert(
      fc.property(fc.array(code, { maxLength: 8 }), fc.integer({ min: 5, max: 120 }), (workOn, minutes) => {
        const made = buildBlocks(workOn, minutes, null)
        expect(total(made)).toBeLessThanOrEqual(minutes * 60)
        for (const b of made) {
          expect(balls(b)).toBeGreaterThan(0)
          expect(balls(b)).toBeLessThanOrEqual(MAX_BALLS)
          expect(b.types.length).toBeLessThanOrEqual(MAX_TYPES)
          expect(b.types.every((t) => t.balls > 0)).toBe(true)
        }
      }),
    )
  })
})

describe('balls and types', () => {
  it('are shared out whole', () => {
    expect(shareOut(10, [1 / 3, 1 / 3, 1 / 3])).toEqual([4, 3, 3])
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 60 }), fc.array(fc.integer({ min: 1, max: 9 }), { minLength: 1, maxLength: 6 }), (n, weights) => {
        const sum = weights.reduce((a, b) => a + b)
        const out = shareOut(n, weights.map((w) => w / sum))
        expect(out.reduce((a, b) => a + b)).toBe(n)
      }),
    )
  })
  it('know what a helmet is for', () => {
    const t = { name: '', line: '', balls: 1, length: '', height: '' }
    expect(upperBody({ ...t, length: 'short' })).toBe(true)
    expect(upperBody({ ...t, height: 'throat' })).toBe(true)
    expect(upperBody({ ...t, height: 'head', balls: 0 })).toBe(false)
    expect(upperBody({ ...t, length: 'full', height: 'toe' })).toBe(false)
  })
  it('are whole when the server leaves out what is empty', () => {
    expect(full({ name: 'A', pace_s: 15, order: 'serial', types: [{ name: 'Full', balls: 3 }] })).toMatchObject({ alike: 0, sequence: [], types: [{ length: '' }] })
  })
})
