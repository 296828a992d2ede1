import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import type { BallEdit, LaneBall } from '../api/types'
import * as edits from './lane-edits'

const ball = (id: number, start: number, end: number, part: Partial<LaneBall> = {}): LaneBall => ({
  id, number: id, start_us: start * 1e6, end_us: end * 1e6, contact_us: null, confidence: 0.9, struck: null, origin: 'split', state: 'proposed',
  revision: 1, block_id: null, player_id: null, batter_id: null, ...part,
})

/** What the server does with edits: all or nothing, revisions checked. */
class Server {
  constructor(public balls: LaneBall[]) {}
  apply(list: BallEdit[]): LaneBall[] {
    const answer = list.map((e): LaneBall => {
      const was = this.balls.find((b) => b.id === e.id)
      if (e.id && was?.revision !== e.revision) throw new Error('conflict')
      const id = e.id ?? Math.max(0, ...this.balls.map((b) => b.id)) + 1
      if (e.end_us - e.start_us < edits.SHORTEST || e.end_us - e.start_us > edits.LONGEST) throw new Error('length')
      if (e.contact_us != null && (e.contact_us < e.start_us || e.contact_us > e.end_us)) throw new Error('contact')
      const made = ball(id, 0, 1, was ?? { origin: 'person', confidence: 1 })
      const ball1 = { ...made, start_us: e.start_us, end_us: e.end_us, contact_us: e.contact_us ?? null, state: e.state, batter_id: e.batter_id ?? null, revision: (was?.revision ?? 0) + 1 }
      this.balls = edits.merged(this.balls, [ball1])
      return ball1
    })
    return answer
  }
}

describe('edits', () => {
  const a = ball(1, 10, 14, { contact_us: 12e6 })
  const b = ball(2, 16, 20, { contact_us: 17e6 })
  test('an edge keeps the ball long enough, and drops a contact outside', () => {
    expect(edits.moveEdge(a, 'start', 13.9e6)[0]).toMatchObject({ start_us: 13.8e6, contact_us: null, state: 'accepted' })
    expect(edits.moveEdge(a, 'end', 15e6)[0]).toMatchObject({ end_us: 15e6, contact_us: 12e6 })
    expect(edits.moveEdge(a, 'end', 14e6)).toEqual([])
  })
  test('merging keeps the first contact', () => {
    expect(edits.merge(b, a)).toMatchObject([{ id: 1, start_us: 10e6, end_us: 20e6, contact_us: 12e6 }, { id: 2, state: 'discarded' }])
  })
  test('splitting gives the contact to its side', () => {
    expect(edits.split(a, 11e6)).toMatchObject([{ id: 1, end_us: 11e6, contact_us: null }, { start_us: 11e6, end_us: 14e6, contact_us: 12e6 }])
    expect(edits.split(a, 10.1e6)).toEqual([])
  })
  test('the next unsure ball, round the end', () => {
    const list = [ball(1, 0, 2, { confidence: 0.2 }), ball(2, 4, 6), ball(3, 8, 9, { confidence: 0.3, state: 'accepted' })]
    expect(edits.nextAfter(list, 5e6, edits.unsure)?.id).toBe(1)
    expect(edits.nextAfter(list.slice(1), 0, edits.unsure)).toBeUndefined()
  })
})

test('any changes, all undone, leave the lane as it was; made again, as they were', () => {
  const op = fc.record({ what: fc.nat(6), which: fc.nat(30), at: fc.integer({ min: 0, max: 60_000_000 }) })
  fc.assert(
    fc.property(fc.array(op, { maxLength: 25 }), (ops) => {
      const server = new Server([ball(1, 2, 6, { contact_us: 4e6 }), ball(2, 9, 12), ball(3, 20, 25, { contact_us: 21e6, state: 'accepted' })])
      const seen = () => server.balls.filter((b) => b.state !== 'discarded').map((b) => [b.id, b.start_us, b.contact_us, b.end_us, b.state])
      const start = seen()
      const steps: edits.Step[] = []
      const run = (list: BallEdit[]) => {
        if (list.length === 0) return
        const was = server.balls
        steps.push(edits.stepOf(list, was, server.apply(list)))
      }
      for (const { what, which, at } of ops) {
        const b = server.balls[which % server.balls.length]!
        const other = server.balls.find((x) => x !== b && x.state !== 'discarded')
        if (what === 0) run(edits.add(at))
        if (what === 1) run(edits.moveEdge(b, 'start', at))
        if (what === 2) run(edits.moveEdge(b, 'end', at))
        if (what === 3 && other) run(edits.merge(b, other))
        if (what === 4) run(edits.split(b, at))
        if (what === 5) run(edits.setState([b], which % 2 ? 'discarded' : 'accepted'))
        if (what === 6) run(edits.setContact(b, which % 3 ? at : null))
      }
      const end = seen()
      for (const s of [...steps].reverse()) server.apply(edits.undoing(s, server.balls, 'undo'))
      expect(seen()).toEqual(start)
      for (const s of steps) server.apply(edits.undoing(s, server.balls, 'redo'))
      expect(seen()).toEqual(end)
    }),
  )
})

test('struck or not is said of proposals only, and only where the split can tell', () => {
  const words = (part: Partial<LaneBall>) => edits.struckWords(ball(1, 0, 4, part))
  expect(words({ struck: 0.9 })).toBe('struck?')
  expect(words({ struck: 0.1 })).toBe('not struck?')
  for (const part of [{ struck: 0.5 }, { struck: null }, { struck: 0.9, state: 'accepted' as const }]) expect(words(part)).toBe('')
})
