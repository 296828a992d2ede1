import { expect, test } from 'vitest'
import type { Ball, Measured, Observation } from '../api/types'
import { eventsOf, measuredOn, withoutContact } from './pair-events'

const ball = (o: Partial<Ball>): Ball => ({
  id: 1, session_id: 1, number: 1, start_us: 1_000, contact_us: 3_000, end_us: 5_000, confidence: 1, state: 'accepted', block_id: null,
  player_id: null, clips: [], seen: [], measured: [], ...o,
})
const term = (group: string, name: string, at: number | null) => ({ kind: 'term', group, term: name, wording: name, at_us: at }) as Observation
const names = (a: Ball, b: Ball) => eventsOf(a, b).map((e) => `${e.name} ${e.left} ${e.right}`)

test('contact comes first, then what both have a time of', () => {
  const a = ball({ seen: [term('feet', 'down', 2_000), term('shot', 'pull', null), term('feet', 'down', 2_500)] })
  const b = ball({ start_us: 8_000, contact_us: 9_500, seen: [term('shot', 'pull', 9_000), term('feet', 'down', 9_100)] })
  expect(names(a, b)).toEqual(['Contact 3000 9500', 'down 2000 9100', 'Start of the ball 1000 8000'])
  expect(withoutContact(a, b)).toBe('')
})

test('without contact in one they are lined up otherwise, and that is said', () => {
  const a = ball({ contact_us: null })
  expect(names(a, ball({}))).toEqual(['Start of the ball 1000 1000'])
  expect(withoutContact(a, ball({}))).toContain('of the left ball:')
  expect(withoutContact(a, a)).toContain('the left ball and the right ball')
})

test('a measure is said once: off the picture that is shown, else the surest, which stands first', () => {
  const m = (measure: string, recording_id: number, value: number): Measured => ({ measure, name: measure, recording_id, value, text: '', caveats: [] })
  const measured = [m('base', 2, 60), m('base', 1, 62), m('knee', 2, 140)]
  const values = (recording?: number) => measuredOn({ measured }, recording).map((v) => v.value)
  expect([values(1), values(2), values(undefined)]).toEqual([[62, 140], [60, 140], [60, 140]])
})
