import { describe, expect, it } from 'vitest'
import type { Entry, Group, Observation } from '../api/types'
import { byTime, entryWords, summary, timeWords } from './coding-words'

const saw = (coder: number, wording: string, at: number | null = 1): Observation => ({
  id: 1, uuid: wording, ball_id: 1, coder_id: coder, coder: 'Ben', kind: 'term', at_us: at, until_us: null, group: 'feed', term: 'x', wording,
  edition: 1, body: '', drawing: null, recording_id: null, made: '',
})
const feed = { key: 'feed', name: 'How fed', terms: [{ key: 'machine', name: 'Machine' }] } as Group
const mine = (o: Observation) => o.coder_id === 7
const given = new Map([['feed', 'machine']])

describe('summary', () => {
  it('tells mine, others’ and the block’s apart', () => {
    expect(summary(feed, [saw(8, 'Bowler')], mine, given)).toEqual({ mine: [], given: 'Machine', others: ['Ben: Bowler'] })
    expect(summary(feed, [saw(7, 'Bowler')], mine, given)).toEqual({ mine: ['Bowler'], given: '', others: [] })
    expect(summary(feed, [], mine, new Map([['feed', 'gone']])).given).toBe('gone')
  })
})

it('times are since the ball’s start', () => {
  expect(timeWords({ at_us: 61_240_000, until_us: null }, 60_000_000)).toBe('0:01.2')
  expect(timeWords({ at_us: 61_240_000, until_us: 62_000_000 }, 60_000_000)).toBe('0:01.2 to 0:02.0')
  expect(timeWords({ at_us: null, until_us: null }, 0)).toBe('')
})

it('orders by time, the whole ball first', () => {
  expect(byTime([saw(7, 'late', 9), saw(7, 'early', 2), saw(7, 'ball', null)]).map((o) => o.wording)).toEqual(['ball', 'early', 'late'])
})

it('says what an entry is', () => {
  const e = (more: Partial<Entry>): Entry => ({ uuid: 'u', ball_id: 1, kind: 'note', ...more })
  const name = (g: string, t: string) => `${g}/${t}`
  expect(entryWords(e({ kind: 'term', group: 'a', term: 'b' }), name)).toBe('a/b')
  expect(entryWords(e({ body: 'x'.repeat(70) }), name)).toBe(`Note: “${'x'.repeat(60)}…”`)
  expect([entryWords(e({ kind: 'drawing' }), name), entryWords(e({ kind: 'retraction' }), name)]).toEqual(['A drawing', 'Taking something back'])
})
