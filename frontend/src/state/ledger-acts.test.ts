import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Entry, Group, Observation } from '../api/types'
import { drawing, holding, note, renamed, takeBack, term, undo, type Act, type Hand } from './ledger-acts'
import { FakeLedger, uuids, wording } from './ledger-fakes'

const group = (key: string, many = false): Group => ({
  key,
  name: key,
  press: '',
  many,
  ordered: false,
  retired: false,
  terms: ['a', 'b', 'c'].map((k) => ({ key: k, name: `${key} ${k}`, press: '', retired: false })),
})
const shot = group('shot')
const hands = group('hands', true)
const hand = (prefix = 'u'): Hand => ({ me: 7, uuid: uuids(prefix) })
const others: Observation = {
  id: 1, uuid: 'theirs', ball_id: 1, coder_id: 9, coder: 'Ben', kind: 'term', at_us: 5, until_us: null, group: 'shot', term: 'b',
  wording: 'shot b', edition: 1, body: '', drawing: null, recording_id: null, made: '',
}
const terms = (seen: Observation[]) => seen.map((o) => `${o.coder_id}:${o.group}:${o.term}`)

describe('terms', () => {
  it('one group: the later term takes the earlier one’s place, and nobody else’s', () => {
    const h = hand()
    let seen = [others]
    for (const key of ['a', 'b']) seen = holding(seen, term(h, seen, 1, shot, key, { at: 10 }).entries, wording)
    expect(terms(seen)).toEqual(['9:shot:b', '7:shot:b'])
  })

  it('the same again takes it back', () => {
    const h = hand()
    const first = term(h, [], 1, shot, 'a', { at: 10 })
    const seen = holding([], first.entries, wording)
    const back = term(h, seen, 1, shot, 'a', { at: 20 })
    expect(back.entries.map((e) => e.kind)).toEqual(['retraction'])
    expect(holding(seen, back.entries, wording)).toEqual([])
  })

  it('several hold in a group of many', () => {
    const h = hand()
    let seen: Observation[] = []
    for (const key of ['a', 'b', 'a']) seen = holding(seen, term(h, seen, 1, hands, key, { at: 10 }).entries, wording)
    expect(terms(seen)).toEqual(['7:hands:b'])
  })

  it('a span takes the place of the moment', () => {
    const h = hand()
    for (const g of [shot, hands]) {
      const seen = holding([], term(h, [], 1, g, 'a', { at: 10 }).entries, wording)
      const span = holding(seen, term(h, seen, 1, g, 'a', { at: 10, until: 30 }).entries, wording)
      expect(span.map((o) => [o.at_us, o.until_us])).toEqual([[10, 30]])
    }
  })

  it('a span that does not go forward is a moment', () => {
    expect(term(hand(), [], 1, shot, 'a', { at: 10, until: 10 }).entries[0]).not.toHaveProperty('until_us')
  })
})

describe('what the server shows already', () => {
  it('is not applied twice, nor what went before it', () => {
    const h = hand()
    const first = term(h, [], 1, shot, 'a', { at: 1 })
    const second = term(h, holding([], first.entries, wording), 1, shot, 'b', { at: 2 })
    const waiting = [...first.entries, ...second.entries]
    const seen = holding([], waiting, wording)
    expect(holding(seen, waiting, wording)).toEqual(seen)
  })

  it('an entry can’t take away what somebody else said', () => {
    const e: Entry = { uuid: 'r', ball_id: 1, kind: 'retraction', retracts: 'theirs' }
    expect(holding([others], [e], wording)).toEqual([others])
  })
})

it('undoing a correction says the earlier term again, at its own time', () => {
  const h = hand()
  let seen = holding([], term(h, [], 1, shot, 'a', { at: 10 }).entries, wording)
  const correction = term(h, seen, 1, shot, 'b', { at: 20 })
  seen = holding(seen, correction.entries, wording)
  seen = holding(seen, undo(h, correction).entries, wording)
  expect(seen.map((o) => [o.term, o.at_us])).toEqual([['a', 10]])
})

/** What can be done to a ball, on what holds there. */
type Deed = { do: 'term' | 'span' | 'note' | 'correct' | 'draw' | 'redraw' | 'remove'; ball: number; n: number; many: boolean }
const deed: fc.Arbitrary<Deed> = fc.record({
  do: fc.constantFrom('term', 'term', 'span', 'note', 'correct', 'draw', 'redraw', 'remove'),
  ball: fc.integer({ min: 1, max: 2 }),
  n: fc.integer({ min: 0, max: 2 }),
  many: fc.boolean(),
})

function act(h: Hand, seen: Observation[], d: Deed, i: number): Act | null {
  const own = seen.filter((o) => o.coder_id === h.me)
  const pick = (kind?: Observation['kind']) => own.filter((o) => !kind || o.kind === kind)[d.n]
  const ink = { strokes: [{ straight: true, tone: d.n, points: [{ x: 0, y: 0 }, { x: 1, y: i / 100 }] }] }
  const g = d.many ? hands : shot
  const key = 'abc'[d.n]!
  if (d.do === 'term') return term(h, seen, d.ball, g, key, { at: i })
  if (d.do === 'span') return term(h, seen, d.ball, g, key, { at: i, until: i + 1 + d.n })
  if (d.do === 'note') return note(h, d.ball, `note ${i}`, i)
  if (d.do === 'draw') return drawing(h, d.ball, ink, i, 3)
  const there = pick(d.do === 'correct' ? 'note' : d.do === 'redraw' ? 'drawing' : undefined)
  if (!there) return null
  if (d.do === 'correct') return note(h, d.ball, `better ${i}`, null, there)
  if (d.do === 'redraw') return drawing(h, d.ball, ink, i, 3, there)
  return takeBack(h, d.ball, 'it', [there])
}

/** What holds, without names that change. */
const sense = (seen: Observation[]) =>
  seen.map((o) => JSON.stringify([o.coder_id, o.kind, o.group, o.term, o.at_us, o.until_us, o.body, o.drawing, o.recording_id])).toSorted()

it('any deeds, all undone in turn, leave the balls as they were; and the page foresees the server', () => {
  fc.assert(
    fc.property(fc.array(deed, { maxLength: 12 }), fc.array(deed, { maxLength: 25 }), (before, deeds) => {
      const h = hand()
      const server = new FakeLedger()
      const page = new Map<number, Observation[]>([[1, []], [2, []]])
      const apply = (ball: number, entries: Entry[]) => {
        page.set(ball, holding(page.get(ball)!, entries, wording))
        if (entries.length) server.add(entries)
        expect(sense(page.get(ball)!)).toEqual(sense(server.seen(ball)))
      }
      const perform = (list: Deed[], from: number) =>
        list.flatMap((d, i) => {
          const a = act(h, page.get(d.ball)!, d, from + i)
          if (a) apply(a.ball, a.entries)
          return a ? [a] : []
        })
      perform(before, 0)
      const start = new Map([...page].map(([b, s]) => [b, sense(s)]))
      let acts = perform(deeds, 1000)
      while (acts.length > 0) {
        const last = acts.at(-1)!
        const { entries, again } = undo(h, last)
        acts = renamed(acts.slice(0, -1), again)
        apply(last.ball, entries)
      }
      for (const [ball, was] of start) expect(sense(page.get(ball)!)).toEqual(was)
    }),
    { numRuns: 300 },
  )
})
