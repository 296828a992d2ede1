import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { moved, placeOf } from './reorder'

describe('moving a row', () => {
  it('loses and doubles nothing, and puts the row where it was asked', () => {
    fc.assert(
      fc.property(fc.uniqueArray(fc.integer(), { minLength: 1 }), fc.nat(), fc.nat(), (list, a, b) => {
        const [from, to] = [a % list.length, b % list.length]
        const out = moved(list, from, to)
        expect([...out].sort()).toEqual([...list].sort())
        expect(out[to]).toBe(list[from])
        expect(moved(out, to, from)).toEqual(list)
      }),
    )
  })
  it.each([
    [30, 1],
    [5, 0],
    [-100, 0],
    [9, 0],
    [49, 1],
    [51, 2],
    [400, 3],
  ])('with its middle at %i stands at %i', (y, place) => {
    expect(placeOf(y, [10, 30, 50, 70], 1)).toBe(place)
  })
})
