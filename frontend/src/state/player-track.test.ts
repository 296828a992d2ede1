import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Clip, ClipFile } from '../api/types'
import { frameAt, frameOf, lengthOf, markOf, middleOf, nearestFrame, sessionOf, timeAt, timeOf, trackOf } from './player-track'

function clip(file: Partial<ClipFile> | null, start = 10_000_000, end = 13_000_000): Clip {
  return {
    id: 1,
    recording_id: 1,
    camera: 'side-on',
    revision: 1,
    start_us: start,
    end_us: end,
    poster: '',
    smooth: false,
    problem: '',
    file: file && { which: 'quick', url: '/v.mp4', lead_us: 0, frames_us: [], ...file },
  }
}

const steady = (fps: number, n: number, from = 0) => Array.from({ length: n }, (_, k) => from + Math.round((k * 1e6) / fps))

describe('trackOf', () => {
  it('is nothing without a file or without frames', () => {
    expect(trackOf(clip(null))).toBeNull()
    expect(trackOf(clip({ frames_us: [] }))).toBeNull()
  })

  it.each([25, 50, 59.94, 100, 240])('shows exactly the frames of [start, end) at %d frames a second', (fps) => {
    // Half a second of lead-in from the key frame before, three seconds of ball, and a rest behind it.
    const lead = Math.round(Math.round(0.5 * fps) * (1e6 / fps))
    const t = trackOf(clip({ lead_us: lead, frames_us: steady(fps, Math.ceil(fps * 4), 21_016) }))!
    expect(t.first).toBe(Math.round(0.5 * fps))
    expect(t.last).toBe(t.first + Math.ceil(3 * fps) - 1)
    expect(timeOf(t, t.first)).toBeLessThanOrEqual(1)
    expect(lengthOf(t)).toBe(3_000_000)
  })

  it('begins with the frame after the start when the start lies between two', () => {
    const t = trackOf(clip({ lead_us: 30_000, frames_us: steady(50, 200) }))!
    expect(t.frames[t.first]).toBe(40_000)
    expect(t.frames[t.last]).toBe(3_020_000)
  })

  it('takes a file that begins a little after the start', () => {
    const t = trackOf(clip({ lead_us: -8_000, frames_us: steady(50, 150) }))!
    expect(t.first).toBe(0)
    expect(timeOf(t, 0)).toBe(8_000)
  })

  it('has a frame even when the file is shorter than said', () => {
    const t = trackOf(clip({ lead_us: 9_000_000, frames_us: steady(50, 10) }))!
    expect([t.first, t.last]).toEqual([9, 9])
  })

  it('goes by the recording’s own rate', () => {
    const t = trackOf(clip({ frames_us: steady(50, 200) }), 1000)!
    expect(lengthOf(t)).toBe(2_997_003)
    expect(sessionOf(t, 1_000_000)).toBe(11_001_000)
    expect(timeAt(t, 11_001_000)).toBe(1_000_000)
  })
})

/** Ascending times with gaps of 2 to 200 ms: a phone's variable rate. */
const variable = fc
  .tuple(fc.integer({ min: 0, max: 100_000 }), fc.array(fc.integer({ min: 2_000, max: 200_000 }), { minLength: 1, maxLength: 300 }))
  .map(([from, gaps]) => gaps.reduce((times, g) => [...times, times.at(-1)! + g], [from]))

describe('frames', () => {
  it('seeking to the middle of a frame shows that frame, at any rate', () => {
    fc.assert(
      fc.property(variable, (frames) => {
        for (let k = 0; k < frames.length; k++) {
          // The browser gets seconds as a float, and may round them to whole microseconds either way.
          const seconds = middleOf(frames, k) / 1e6
          for (const slack of [-1, 0, 1]) expect(frameAt(frames, seconds * 1e6 + slack)).toBe(k)
        }
      }),
    )
  })

  it('a media time that went through a float still names its frame', () => {
    fc.assert(
      fc.property(variable, (frames) => {
        frames.forEach((at, k) => expect(nearestFrame(frames, Math.fround(at / 1e6) * 1e6)).toBe(k))
      }),
    )
  })

  it('finds the frame on display by looking at all of them', () => {
    fc.assert(
      fc.property(variable, fc.integer({ min: -1_000, max: 60_000_000 }), (frames, t) => {
        const slow = Math.max(0, frames.filter((at) => at <= t).length - 1)
        expect(frameAt(frames, t)).toBe(slow)
      }),
    )
  })

  it('a frame’s time of the ball leads back to it', () => {
    const t = trackOf(clip({ lead_us: 500_000, frames_us: steady(240, 1000, 7) }))!
    for (let k = t.first; k <= t.last; k++) expect(frameOf(t, timeOf(t, k))).toBe(k)
    expect(frameOf(t, -5)).toBe(t.first)
    expect(frameOf(t, 99_000_000)).toBe(t.last)
  })

  it('a single frame is sought at its own time', () => {
    expect(middleOf([40_000], 0)).toBe(40_000)
  })
})

describe('markOf', () => {
  const t = trackOf(clip({ lead_us: 0, frames_us: steady(50, 200) }))!

  it('gives shares of the ball', () => {
    expect(markOf(t, 11_500_000)).toEqual({ at: 0.5, until: null })
    expect(markOf(t, 9_000_000, 11_500_000)).toEqual({ at: 0, until: 0.5 })
  })

  it('leaves out what is not on this ball', () => {
    expect(markOf(t, 9_999_999)).toBeNull()
    expect(markOf(t, 13_000_001)).toBeNull()
  })
})
