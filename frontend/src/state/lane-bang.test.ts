import { describe, expect, test } from 'vitest'
import type { Recording } from '../api/types'
import { guessed, laidOn, late, loudest } from './lane-bang'

const rec = (part: Partial<Recording>): Recording => ({
  id: 1, session_id: 1, title: 'A', camera: 'side-on', size: 1, state: 'ready', problem: '', step: '', progress: 0, offset_us: 0,
  rate_ppm: 0, clock_by: 'guess', clock_sure: null, clock_note: '', metres: null, notes: [], duration_us: 60e6, width: 1, height: 1,
  frame_rate: 50, video_codec: 'h264', has_sound: true, browser_shows: true, created: '', ...part,
})

describe('the same bang on two recordings', () => {
  test('the second is moved so that its bang falls on the first', () => {
    expect(laidOn(rec({}), { recording: 1, at: 12e6 }, rec({ id: 2, offset_us: 1e6 }), { recording: 2, at: 15e6 })).toBe(-2e6)
  })
  test('sound travels 20 m in 58.3 ms (343 m/s)', () => {
    expect(late(20) / 1000).toBeCloseTo(58.3, 1)
    expect(late(null)).toBe(0)
    // The far camera hears the bang later, so its picture of it lies earlier than its sound.
    const far = laidOn(rec({ metres: 8 }), { recording: 1, at: 10e6 }, rec({ id: 2, metres: 28 }), { recording: 2, at: 10e6 })
    expect(far / 1000).toBeCloseTo(58.3, 1)
    expect(laidOn(rec({ metres: 8 }), { recording: 1, at: 10e6 }, rec({ id: 2 }), { recording: 2, at: 10e6 })).toBe(0)
  })
  test('a press means the loudest sound beside it', () => {
    const curve = Uint8Array.from([0, 0, 9, 200, 3, 0, 250])
    expect(loudest(curve, 10_000, 1e6, 1_025_000, 12_000)).toBe(1_030_000)
    expect(loudest(curve, 10_000, 1e6, 1_005_000, 6_000)).toBe(1_005_000) // silence
    expect(loudest(curve, 10_000, 1e6, 9e6, 12_000)).toBe(9e6) // outside
  })
  test('who is to be looked at', () => {
    expect(guessed([rec({}), rec({ id: 2 })])).toEqual([]) // one camera's files follow one another
    expect(guessed([rec({}), rec({ id: 2, camera: 'other' })])).toEqual([]) // not compared yet
    const refused = rec({ id: 2, camera: 'other', clock_note: 'Too little' })
    expect(guessed([rec({ clock_by: 'sound' }), refused]).map((r) => r.id)).toEqual([2])
    expect(guessed([rec({}), rec({ id: 2, camera: 'other', has_sound: false })]).map((r) => r.id)).toEqual([1, 2])
  })
})
