import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import type { LaneBall } from '../api/types'
import { events } from './events.svelte'
import { coalesce } from './refetch'
import { SessionState } from './session.svelte'

const ball = (id: number, state: LaneBall['state'], block_id: number | null): LaneBall => ({
  id, number: id, start_us: 0, contact_us: null, end_us: 1, confidence: 1, struck: null, origin: 'split', state, revision: 1, block_id, player_id: null, batter_id: null,
})

describe('coalesce', () => {
  it('runs once at a time, and once more when asked meanwhile', async () => {
    const ends: (() => void)[] = []
    let runs = 0
    const load = coalesce(() => {
      runs++
      return new Promise<void>((done) => ends.push(done))
    })
    const first = load()
    void load()
    void load()
    expect(runs).toBe(1)
    ends[0]!()
    await Promise.resolve()
    await Promise.resolve()
    expect(runs).toBe(2)
    ends[1]!()
    await first
    expect(runs).toBe(2)
  })
  it('can be asked again after a failure', async () => {
    let runs = 0
    const load = coalesce(async () => {
      if (++runs === 1) throw new Error('no')
    })
    await expect(load()).rejects.toThrow('no')
    await load()
    expect(runs).toBe(2)
  })
})

describe('a session', () => {
  let asked: string[]
  let answers: Record<string, unknown>
  beforeEach(() => {
    asked = []
    answers = {
      '/api/sessions/7': { id: 7, title: 'T' },
      '/api/sessions/7/lane': {
        recordings: [],
        blocks: [{ id: 1, name: 'B', start_us: 0, end_us: 9 }],
        balls: [ball(1, 'accepted', 1), ball(2, 'proposed', 1), ball(3, 'discarded', 1), ball(4, 'proposed', null)],
      },
      '/api/sessions/7/uploads': [],
    }
    vi.stubGlobal('fetch', async (url: string) => {
      asked.push(url)
      const known = url in answers
      return new Response(JSON.stringify(known ? answers[url] : { detail: 'Gone.' }), {
        status: known ? 200 : 404, headers: { 'Content-Type': 'application/json' },
      })
    })
  })
  afterEach(() => void vi.unstubAllGlobals())

  it('counts balls, without the discarded', async () => {
    const s = new SessionState(7)
    await s.load()
    expect([s.session?.title, s.unsure]).toEqual(['T', 2])
    expect(s.counts.map((c) => [c.block.name, c.balls])).toEqual([['B', 2]])
  })
  it('fetches what an event speaks of, and nothing for another session', async () => {
    const s = new SessionState(7)
    const stop = s.start()
    await s.load()
    asked.length = 0
    events.hear({ topic: 'upload', id: 3, session: 8 })
    expect(asked).toEqual([])
    events.hear({ topic: 'upload', id: 3, session: 7 })
    expect(asked).toEqual(['/api/sessions/7/uploads'])
    asked.length = 0
    events.hear({ topic: 'everything', id: 0 })
    expect(asked).toEqual(['/api/sessions/7', '/api/sessions/7/lane', '/api/sessions/7/uploads'])
    await s.load()
    stop()
    asked.length = 0
    events.hear({ topic: 'everything', id: 0 })
    expect(asked).toEqual([])
  })
  it('says why it can’t be shown, and keeps what is shown when a later fetch fails', async () => {
    const s = new SessionState(7)
    await s.load()
    answers = {}
    await s.load()
    expect(s.error).toMatchObject({ status: 404 })
    expect(s.session?.title).toBe('T')
  })
})
