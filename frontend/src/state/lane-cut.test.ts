import { describe, expect, test } from 'vitest'
import type { LaneBall } from '../api/types'
import { below, besides, cutOf, LEAST_CUT, MOST_CUT, sliderOf } from './lane-cut'

const ball = (part: Partial<LaneBall>): LaneBall => ({
  id: 1, number: 1, start_us: 0, contact_us: null, end_us: 1, confidence: 0.6, struck: null, origin: 'split', state: 'proposed',
  revision: 1, block_id: null, player_id: null, batter_id: null, ...part,
})

describe('the cut', () => {
  test('the slider goes to more as the cut falls, and back to the same', () => {
    expect(sliderOf(MOST_CUT)).toBeLessThan(sliderOf(LEAST_CUT))
    for (const cut of [0.05, 0.3, 0.5, 0.77, 0.95]) expect(cutOf(sliderOf(cut))).toBeCloseTo(cut)
    expect(sliderOf(0)).toBe(sliderOf(LEAST_CUT))
  })
  test('only what nobody has looked at goes', () => {
    expect(below(ball({}), 0.7)).toBe(true)
    expect(below(ball({}), 0.6)).toBe(false)
    expect(below(ball({ state: 'accepted' }), 0.7)).toBe(false)
    expect(below(ball({ state: 'discarded' }), 0.7)).toBe(false)
    expect(below(ball({ origin: 'person' }), 0.7)).toBe(false)
  })
  test('what comes besides', () => {
    const weak = [0.1, 0.3, 0.45].map((confidence) => ({ start_us: 0, contact_us: null, end_us: 1, confidence }))
    expect(besides(weak, 0.3).map((w) => w.confidence)).toEqual([0.3, 0.45])
  })
})
