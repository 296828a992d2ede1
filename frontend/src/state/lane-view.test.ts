import fc from 'fast-check'
import { expect, test } from 'vitest'
import * as view from './lane-view'

const all = { start: 0, end: 3600e6 }

test('the whole session fits the lane', () => {
  const v = view.whole(all, 1000)
  expect(view.xOf(v, 0)).toBe(0)
  expect(view.xOf(v, all.end)).toBeCloseTo(1000)
})

test('zooming keeps the time under the pointer and the view inside the session', () => {
  fc.assert(
    fc.property(fc.array(fc.record({ f: fc.double({ min: 0.3, max: 3, noNaN: true }), x: fc.integer({ min: 0, max: 1000 }) })), (zooms) => {
      let v = view.whole(all, 1000)
      for (const { f, x } of zooms) {
        const before = view.timeAt(v, x)
        const next = view.zoom(v, f, x, all, 1000)
        const s = view.shown(next, 1000)
        expect(s.start).toBeGreaterThanOrEqual(0)
        expect(s.end).toBeLessThanOrEqual(all.end + 1)
        const edge = s.start <= 0 || s.end >= all.end - 1
        if (!edge) expect(Math.abs(view.timeAt(next, x) - before)).toBeLessThan(2)
        v = next
      }
    }),
  )
})

test('a sharp sound is seen at any distance', () => {
  const values = new Uint8Array(72_000)
  values[35_000] = 255
  const c = view.columns(values, 50_000, 0, view.whole(all, 1000), 1000)
  expect(Math.max(...c)).toBe(255)
  expect(c[486]).toBe(255)
  expect(c.filter((x) => x > 0)).toHaveLength(1)
})

test('a ball out of sight is brought into it', () => {
  const v = view.zoom(view.whole(all, 1000), 0.01, 0, all, 1000)
  const s = { start: 1800e6, end: 1804e6 }
  const now = view.shown(view.reveal(v, s, all, 1000), 1000)
  expect(now.start).toBeLessThan(s.start)
  expect(now.end).toBeGreaterThan(s.end)
  expect(view.reveal(view.whole(all, 1000), s, all, 1000)).toEqual(view.whole(all, 1000))
})

test('a ball that would be a sliver is looked at from nearer', () => {
  const s = { start: 1800e6, end: 1804e6 }
  const v = view.near(view.whole(all, 1000), s, all, 1000)
  expect((s.end - s.start) / v.scale).toBeCloseTo(140)
  expect((view.xOf(v, s.start) + view.xOf(v, s.end)) / 2).toBeCloseTo(500)
  expect(view.near(v, s, all, 1000)).toEqual(v)
})

test('the view goes on with the playhead, and stays where somebody looks elsewhere', () => {
  const v = { from: 100e6, scale: 10_000 } // 100 s to 110 s
  expect(view.follow(v, 109.9e6, 109.99e6, all, 1000)).toEqual(v)
  expect(view.shown(view.follow(v, 109.99e6, 110.01e6, all, 1000), 1000).start).toBeCloseTo(109.21e6)
  expect(view.follow(v, 300e6, 301e6, all, 1000)).toEqual(v)
})

test('a press means the ball under it, else one near by', () => {
  const v = { from: 0, scale: 10_000 }
  const [a, b] = [{ start_us: 1e6, end_us: 3e6 }, { start_us: 2.5e6, end_us: 3.5e6 }]
  expect(view.ballAt([a, b], v, 150)).toBe(a)
  expect(view.ballAt([a, b], v, 280)).toBe(b)
  expect(view.ballAt([a, b], v, 97)).toBe(a)
  expect(view.ballAt([a, b], v, 90)).toBeUndefined()
})

test('marks stand at round times', () => {
  expect(view.marks({ from: 500_000, scale: 10_000 }, 400)).toEqual([1e6, 2e6, 3e6, 4e6])
})

test('samples travel as base64', () => expect([...view.samples(btoa('\x00\x7f\xff'))]).toEqual([0, 127, 255]))
