import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { beatsOf, fromEvent, leader, moves, shownAt, sideOf } from './pair-beats'
import type { Track } from './player-track'

/** A ball of n frames, all of them in the file, at a rate. */
const track = (n: number, gap: number, session = 0): Track => {
  const frames = Array.from({ length: n }, (_, k) => Math.round(k * gap))
  return { url: `/${n}-${gap}`, frames, start: 0, end: Math.round(n * gap), first: 0, last: n - 1, session, ppm: 0 }
}

describe('two clips lined up', () => {
  const left = sideOf(track(100, 20_000, 60_000_000), 61_000_000) // contact on frame 50
  const right = sideOf(track(120, 20_000, 5_000_000), 5_600_000) // contact on frame 30

  it('show their own contact frames at nought, and as many frames on at each step', () => {
    expect([left.anchor, right.anchor]).toEqual([50, 30])
    expect([shownAt(left, 0), shownAt(right, 0)]).toEqual([50, 30])
    const beats = beatsOf([left, right])
    const zero = beats.indexOf(0)
    expect([-30, -1, 1, 20].map((n) => [shownAt(left, beats[zero + n]!), shownAt(right, beats[zero + n]!)])).toEqual([[20, 0], [49, 29], [51, 31], [70, 50]])
  })

  it('have a beat for each frame of either, from the earlier beginning to the later end', () => {
    const beats = beatsOf([left, right])
    expect([beats[0], beats.at(-1), beats.length]).toEqual([-1_000_000, 89 * 20_000, 50 + 90])
    expect(shownAt(right, -900_000)).toBe(0)
    expect(shownAt(left, 1_700_000)).toBe(99)
    expect([moves(right, -900_000), moves(left, 1_700_000), moves(left, 0)]).toEqual([false, false, true])
  })

  it('go by the one with more frames', () => {
    const quick = sideOf(track(240, 8_333, 0), 1_000_000)
    expect([leader([left, right]), leader([left, quick]), leader([quick, left])]).toEqual([0, 1, 0])
  })

  it('may be moved against each other, not beyond the clip', () => {
    expect(sideOf(right.track, 5_600_000, 4).anchor).toBe(34)
    expect(sideOf(right.track, 5_600_000, -400).anchor).toBe(0)
  })

  it('alone is itself', () => expect(beatsOf([right])).toHaveLength(120))
})

describe('with any two clips', () => {
  const clip = fc.record({ n: fc.integer({ min: 2, max: 200 }), gap: fc.integer({ min: 4_000, max: 42_000 }), at: fc.double({ min: 0, max: 1, noNaN: true }) })
  const side = clip.map(({ n, gap, at }) => sideOf(track(n, gap), Math.round(n * gap * at)))

  it('beats ascend, nought is one of them, and each side is shown within half its frame’s time', () => {
    fc.assert(
      fc.property(side, side, (a, b) => {
        const beats = beatsOf([a, b])
        expect(beats.every((t, i) => i === 0 || beats[i - 1]! < t)).toBe(true)
        expect(beats).toContain(0)
        for (const s of [a, b]) {
          for (const t of beats) {
            const at = fromEvent(s, shownAt(s, t))
            const gap = s.track.frames[1]! - s.track.frames[0]!
            if (moves(s, t)) expect(Math.abs(at - t)).toBeLessThanOrEqual(gap / 2 + 1)
          }
        }
      }),
    )
  })
})
