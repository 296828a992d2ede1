import fc from 'fast-check'
import { expect, test } from 'vitest'
import { around, CLOSEST, closeUp, inPicture, panned, WHOLE, zoomed } from './measure-view'

const share = fc.double({ min: 0, max: 1, noNaN: true })
const factor = fc.double({ min: 0.2, max: 5, noNaN: true })

test('what is under the pointer stays there while the picture grows', () => {
  fc.assert(
    fc.property(share, share, (x, y) => {
      const at = { x, y }
      const before = inPicture(WHOLE, at)
      const after = inPicture(zoomed(WHOLE, 4, at), at)
      expect(after.x).toBeCloseTo(before.x, 9)
      expect(after.y).toBeCloseTo(before.y, 9)
    }),
  )
})

test('a view never leaves the picture', () => {
  fc.assert(
    fc.property(factor, factor, share, share, fc.double({ min: -2, max: 2, noNaN: true }), (a, b, x, y, d) => {
      const v = panned(zoomed(zoomed(WHOLE, a, { x, y }), b, { x: y, y: x }), d, -d)
      expect(v.scale).toBeGreaterThanOrEqual(1)
      expect(v.scale).toBeLessThanOrEqual(CLOSEST)
      for (const c of [v.x, v.y]) {
        expect(c).toBeGreaterThanOrEqual(0)
        expect(c + 1 / v.scale).toBeLessThanOrEqual(1 + 1e-9)
      }
    }),
  )
})

test('a point that is out of sight is brought into it', () => {
  const close = zoomed(WHOLE, 8, { x: 0, y: 0 })
  const v = around(close, { x: 0.9, y: 0.9 })
  expect(v.scale).toBe(8)
  expect(v.x).toBeLessThan(0.9)
  expect(v.x + 1 / 8).toBeGreaterThan(0.9)
  expect(around(v, { x: 0.9, y: 0.9 })).toBe(v)
})

test('a close-up shows all its points, in the picture and no closer than it may', () => {
  fc.assert(
    fc.property(fc.array(fc.record({ x: share, y: share }), { minLength: 1, maxLength: 9 }), (points) => {
      const v = closeUp(points, 3)
      expect(v.scale).toBeGreaterThanOrEqual(1)
      expect(v.scale).toBeLessThanOrEqual(3)
      for (const p of points) {
        expect((p.x - v.x) * v.scale).toBeGreaterThan(-1e-9)
        expect((p.x - v.x) * v.scale).toBeLessThan(1 + 1e-9)
        expect((p.y - v.y) * v.scale).toBeGreaterThan(-1e-9)
        expect((p.y - v.y) * v.scale).toBeLessThan(1 + 1e-9)
      }
    }),
  )
  expect(closeUp([], 3)).toEqual(WHOLE)
  expect(closeUp([{ x: 0.5, y: 0.5 }], 3).scale).toBe(3)
})
