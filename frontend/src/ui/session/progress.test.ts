import { describe, expect, it } from 'vitest'
import type { Recording } from '../../api/types'
import { facts, standingOf } from './progress'

const rec = (over: Partial<Recording>): Recording => ({
  id: 1, session_id: 1, title: 'A', camera: 'side-on', size: 1, state: 'landed', problem: '', step: '', progress: 0, offset_us: 0,
  rate_ppm: 0, clock_by: 'guess', clock_sure: null, clock_note: '', metres: null, notes: [], duration_us: null, width: null, height: null, frame_rate: null, video_codec: '', has_sound: false, browser_shows: false,
  created: '', ...over,
})

describe('how far a recording has come', () => {
  it.each<[string, Partial<Recording>, ReturnType<typeof standingOf>]>([
    ['landed', {}, { text: 'Waits for its turn', tone: 'accent', progress: null, canRetry: false, canCancel: true }],
    [
      'being split',
      { state: 'probed', step: 'split', progress: 0.4 },
      { text: 'Step 2 of 3: finding the balls', tone: 'accent', progress: 0.4, canRetry: false, canCancel: true },
    ],
    ['ready', { state: 'ready' }, { text: 'Ready', tone: 'good', canRetry: false, canCancel: false }],
    [
      'ready, and cut anew',
      { state: 'ready', step: 'clips', progress: 0 },
      { text: 'Step 3 of 3: cutting the clips', tone: 'accent', progress: null, canRetry: false, canCancel: true },
    ],
    [
      'failed',
      { state: 'failed', problem: 'No picture in it.', step: 'probe' },
      { text: 'No picture in it.', tone: 'bad', canRetry: true, canCancel: false },
    ],
    ['stopped', { state: 'cancelled' }, { text: 'Stopped', tone: 'plain', canRetry: true, canCancel: false }],
  ])('%s', (_, over, standing) => expect(standingOf(rec(over))).toEqual(standing))

  it('says what is in the file', () => {
    expect(facts(rec({}))).toEqual([])
    expect(facts(rec({ width: 1280, height: 720, frame_rate: 29.97003, video_codec: 'h264' }))).toEqual([
      '1280 × 720', '29.97 frames a second', 'H.264', 'no sound',
    ])
  })
})
