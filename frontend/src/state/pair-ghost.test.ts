import fc from 'fast-check'
import { expect, test } from 'vitest'
import { AS_IT_IS, inBox, laidOn, moved, pinched, sameMarks, scaled, type Fit } from './pair-ghost'

const share = fc.double({ min: 0, max: 1, noNaN: true })
const point = fc.record({ x: share, y: share })
const shows = (f: Fit, p: { x: number; y: number }) => ({ x: f.x + f.scale * p.x, y: f.y + f.scale * p.y })

test('what lies under the pointer stays there while the picture grows', () => {
  fc.assert(
    fc.property(point, fc.double({ min: 0.6, max: 2, noNaN: true }), (at, by) => {
      const f = moved(AS_IT_IS, 0.05, -0.02)
      const under = { x: (at.x - f.x) / f.scale, y: (at.y - f.y) / f.scale }
      const now = shows(scaled(f, by, at), under)
      expect(now.x).toBeCloseTo(at.x, 9)
      expect(now.y).toBeCloseTo(at.y, 9)
    }),
  )
})

test('two fingers keep what is under each of them', () => {
  const from = [{ x: 0.4, y: 0.5 }, { x: 0.6, y: 0.5 }] as const
  const to = [{ x: 0.35, y: 0.6 }, { x: 0.65, y: 0.6 }] as const
  const f = pinched(AS_IT_IS, from, to, 16 / 9)
  expect(f.scale).toBeCloseTo(1.5, 9)
  from.forEach((p, i) => {
    expect(shows(f, p).x).toBeCloseTo(to[i]!.x, 9)
    expect(shows(f, p).y).toBeCloseTo(to[i]!.y, 9)
  })
  expect(pinched(AS_IT_IS, [from[0], from[0]], to, 1).scale).toBe(1)
})

test('it never goes out of sight, nor grows without end', () => {
  fc.assert(
    fc.property(fc.array(fc.tuple(fc.double({ min: -3, max: 3, noNaN: true }), fc.double({ min: 0.1, max: 9, noNaN: true }))), (moves) => {
      const f = moves.reduce((g, [d, by]) => scaled(moved(g, d, -d), by), AS_IT_IS)
      expect(f.scale).toBeGreaterThanOrEqual(0.25)
      expect(f.scale).toBeLessThanOrEqual(4)
      expect(f.x + f.scale).toBeGreaterThan(0.09)
      expect(f.x).toBeLessThan(0.91)
    }),
  )
})

test('marks are laid on marks', () => {
  const marks = [{ x: 0.2, y: 0.7 }, { x: 0.8, y: 0.72 }, { x: 0.3, y: 0.9 }]
  const found = laidOn(marks, marks.map((p) => shows({ x: 0.1, y: -0.05, scale: 1.2 }, p)), 16 / 9)!
  expect([found.fit.scale, found.fit.x, found.fit.y, found.off].map((v) => Math.round(v * 1e9) / 1e9)).toEqual([1.2, 0.1, -0.05, 0])
  expect(laidOn([marks[0]!], [marks[0]!], 1)).toBeNull()
  expect(laidOn([marks[0]!, marks[0]!], [marks[0]!, marks[1]!], 1)).toBeNull()
})

test('what is left is the least: no other fit near it leaves less', () => {
  fc.assert(
    fc.property(fc.array(fc.tuple(point, fc.double({ min: -0.02, max: 0.02, noNaN: true })), { minLength: 3, maxLength: 8 }), (list) => {
      const from = list.map(([p]) => p)
      const to = list.map(([p, e]) => ({ x: p.x + e, y: p.y - e / 2 }))
      const found = laidOn(from, to, 1.5)
      if (!found) return
      const left = (f: Fit) => Math.sqrt(from.reduce((s, p, i) => s + ((shows(f, p).x - to[i]!.x) * 1.5) ** 2 + (shows(f, p).y - to[i]!.y) ** 2, 0) / from.length)
      expect(left(found.fit)).toBeCloseTo(found.off, 9)
      for (const d of [-0.003, 0.003]) {
        for (const f of [{ ...found.fit, x: found.fit.x + d }, { ...found.fit, y: found.fit.y + d }, { ...found.fit, scale: found.fit.scale + d }]) {
          expect(left(f)).toBeGreaterThanOrEqual(found.off - 1e-12)
        }
      }
    }),
  )
})

test('a picture of another shape stands in the middle of the box', () => {
  expect(inBox({ x: 0, y: 0 }, 16 / 9, 16 / 9)).toEqual({ x: 0, y: 0 })
  const upright = inBox({ x: 0, y: 1 }, 9 / 16, 1)
  expect([upright.x, upright.y]).toEqual([(1 - 9 / 16) / 2, 1])
  expect(inBox({ x: 1, y: 0.5 }, 2, 1)).toEqual({ x: 1, y: 0.5 })
})

test('marks that both have are paired', () => {
  const click = (mark: string, x: number) => ({ mark, x, y: 0.5 })
  expect(sameMarks({ clicks: [click('a', 0.1), click('b', 0.2)] }, { clicks: [click('b', 0.4), click('c', 0.9)] })).toEqual([[{ x: 0.2, y: 0.5 }, { x: 0.4, y: 0.5 }]])
})
