import { beforeEach, expect, test, vi } from 'vitest'
import type { BallEdit, Lane, LaneBall } from '../api/types'
import { LaneDesk } from './lane.svelte'
import { setState } from './lane-edits'

const api = vi.hoisted(() => ({ session: vi.fn(), lane: vi.fn(), editLane: vi.fn() }))
vi.mock('../api/sessions', () => api)

const ball = (part: Partial<LaneBall> = {}): LaneBall => ({
  id: 1, number: 1, start_us: 0, contact_us: null, end_us: 3_000_000, confidence: 0.6, struck: null, origin: 'split', state: 'proposed',
  revision: 1, block_id: null, player_id: null, batter_id: null, ...part,
})
const lane = (b: LaneBall) => ({ recordings: [], blocks: [], balls: [b], weak: [], breaks: [], cut: 0.5, cut_chosen: false }) as unknown as Lane

/** A server with one ball, whose lanes are answered when the test says so. */
let there: LaneBall
let asked: (() => void)[]
beforeEach(() => {
  there = ball()
  asked = []
  api.session.mockResolvedValue({})
  api.lane.mockImplementation(() => {
    const now = lane(there)
    return new Promise((done) => asked.push(() => done(now)))
  })
  api.editLane.mockImplementation((_: number, { balls: [e] }: { balls: BallEdit[] }) => {
    expect(e!.revision).toBe(there.revision)
    there = ball({ state: e!.state, revision: there.revision + 1 })
    return Promise.resolve([there])
  })
})
const settle = () => new Promise((done) => setTimeout(done))

test('a lane that was asked for before a change is not shown after it', async () => {
  const desk = new LaneDesk(1)
  void desk.load()
  asked.shift()!()
  await settle()
  void desk.load() // news, answered late
  desk.change((balls) => setState(balls, 'accepted'))
  await settle()
  expect([desk.busy, desk.balls[0]!.state, desk.balls[0]!.revision]).toEqual([0, 'accepted', 2])
  asked.shift()!()
  await settle()
  expect([desk.balls[0]!.state, desk.balls[0]!.revision]).toEqual(['accepted', 2])

  desk.undo()
  desk.redo()
  await settle()
  expect([desk.balls[0]!.state, there.revision]).toEqual(['accepted', 4])
  for (let answer = asked.shift(); answer; answer = asked.shift()) {
    answer()
    await settle()
  }
  expect([desk.balls[0]!.state, desk.balls[0]!.revision, desk.busy]).toEqual(['accepted', 4, 0])
})
