import fc from 'fast-check'
import { beforeEach, describe, expect, it } from 'vitest'
import type { Entry, Observation } from '../api/types'
import { FakeLedger, FakeShelf, Refusal } from './ledger-fakes'
import { LedgerQueue, type Deps, type Verdict } from './ledger-queue'

const entry = (uuid: string, ball = 1): Entry => ({ uuid, ball_id: ball, kind: 'note', body: uuid, at_us: null })
const lost = new Error('connection lost')
const stranger = new Error('signed out')

function judge(err: unknown): Verdict {
  if (err instanceof Refusal) return { then: 'refused', why: err.message }
  return err === stranger ? { then: 'sign-in' } : { then: 'again' }
}

/** What a send does to the server and what the page hears of it. */
type Weather = 'fine' | 'lost on the way' | 'answer lost' | 'signed out'

let server: FakeLedger
let shelf: FakeShelf
let weather: () => Weather
let timers: { ms: number; fn: () => void }[]
let sent: string[][]
let clock: number

beforeEach(() => {
  server = new FakeLedger()
  shelf = new FakeShelf()
  weather = () => 'fine'
  timers = []
  sent = []
  clock = 1_000
})

function deps(more: Partial<Deps> = {}): Deps {
  return {
    send: async (batch): Promise<Observation[]> => {
      sent.push(batch.map((e) => e.uuid))
      const w = weather()
      if (w === 'signed out') throw stranger
      if (w === 'lost on the way') throw lost
      const holds = server.add(batch)
      if (w === 'answer lost') throw lost
      return holds
    },
    judge,
    later: (ms, fn) => {
      const t = { ms, fn }
      timers.push(t)
      return () => (timers = timers.filter((x) => x !== t))
    },
    shelf,
    now: () => clock++,
    changed: () => {},
    saved: () => {},
    ...more,
  }
}

/** Lets promises run until nothing is being sent. */
async function quiet(q: LedgerQueue): Promise<void> {
  do await new Promise<void>((r) => setImmediate(r))
  while (q.state === 'sending')
}

const atServer = () => server.uuids

describe('sending', () => {
  it('sends at once, in order, and keeps nothing afterwards', async () => {
    const q = new LedgerQueue(7, deps())
    q.add([entry('a')])
    q.add([entry('b'), entry('c')])
    expect(shelf.length).toBe(3)
    await quiet(q)
    expect(sent).toEqual([['a'], ['b', 'c']])
    expect([atServer(), shelf.length, q.state]).toEqual([['a', 'b', 'c'], 0, 'idle'])
  })

  it('tells what the server now holds', async () => {
    const told: [number, number][] = []
    const q = new LedgerQueue(7, deps({ saved: (e, holds) => told.push([e.length, holds.length]) }))
    q.add([entry('a'), entry('b')])
    await quiet(q)
    expect(told).toEqual([[2, 2]])
  })

  it('never sends more than the server takes', async () => {
    const q = new LedgerQueue(7, deps())
    q.add(Array.from({ length: 450 }, (_, i) => entry(`e${i}`)))
    await quiet(q)
    expect(sent.map((s) => s.length)).toEqual([200, 200, 50])
    const big = (uuid: string): Entry => ({ ...entry(uuid), body: 'x'.repeat(300_000) })
    sent = []
    q.add([big('x'), big('y')])
    await quiet(q)
    expect(sent).toEqual([['x'], ['y']])
  })
})

describe('no connection', () => {
  it('waits longer each time, up to half a minute, and goes on by itself', async () => {
    weather = () => 'lost on the way'
    const q = new LedgerQueue(7, deps())
    q.add([entry('a')])
    const waits: number[] = []
    for (let i = 0; i < 7; i++) {
      await quiet(q)
      expect(q.state).toBe('later')
      const t = timers.shift()!
      waits.push(t.ms)
      t.fn()
    }
    expect(waits).toEqual([1000, 2000, 4000, 8000, 16_000, 30_000, 30_000])
    weather = () => 'fine'
    await quiet(q)
    timers.shift()!.fn()
    await quiet(q)
    expect([atServer(), q.state, shelf.length]).toEqual([['a'], 'idle', 0])
  })

  it('does not wait when the connection is known to be back', async () => {
    weather = () => 'lost on the way'
    const q = new LedgerQueue(7, deps())
    q.add([entry('a')])
    await quiet(q)
    weather = () => 'fine'
    q.flush()
    expect(timers).toHaveLength(0)
    await quiet(q)
    expect(atServer()).toEqual(['a'])
  })

  it('an answer that was lost makes no second entry', async () => {
    weather = () => 'answer lost'
    const q = new LedgerQueue(7, deps())
    q.add([entry('a')])
    await quiet(q)
    weather = () => 'fine'
    q.flush()
    await quiet(q)
    expect([atServer(), server.repeats]).toEqual([['a'], 1])
  })

  it('says when a person has to sign in', async () => {
    weather = () => 'signed out'
    const q = new LedgerQueue(7, deps())
    q.add([entry('a')])
    await quiet(q)
    expect([q.state, q.waiting.length, shelf.length]).toEqual(['signed-out', 1, 1])
  })
})

describe('a closed tab', () => {
  it('what waited is sent by the next one, in order', async () => {
    weather = () => 'lost on the way'
    const before = new LedgerQueue(7, deps())
    before.add([entry('a')])
    before.add([entry('b')])
    await quiet(before)
    before.close()
    weather = () => 'fine'
    const after = new LedgerQueue(7, deps())
    expect(after.waiting.map((i) => i.entry.uuid)).toEqual(['a', 'b'])
    after.flush()
    await quiet(after)
    expect([atServer(), shelf.length]).toEqual([['a', 'b'], 0])
  })

  it('somebody else’s entries stay theirs', async () => {
    weather = () => 'lost on the way'
    const theirs = new LedgerQueue(7, deps())
    theirs.add([entry('a')])
    await quiet(theirs)
    theirs.close()
    const mine = new LedgerQueue(8, deps())
    weather = () => 'fine'
    mine.flush()
    await quiet(mine)
    expect([mine.waiting.length, atServer(), shelf.length]).toEqual([0, [], 1])
  })

  it('does not send again what another tab has saved', async () => {
    weather = () => 'lost on the way'
    const one = new LedgerQueue(7, deps())
    one.add([entry('a')])
    await quiet(one)
    const two = new LedgerQueue(7, deps())
    weather = () => 'fine'
    one.flush()
    await quiet(one)
    sent = []
    two.flush()
    await quiet(two)
    expect([sent, two.waiting.length]).toEqual([[], 0])
  })

  it('a damaged or strange shelf does no harm', () => {
    shelf.setItem('netreel.ledger.7.x', '{"seq":')
    shelf.setItem('netreel.ledger.7.y', '{"seq":1,"entry":{}}')
    shelf.setItem('other', 'thing')
    expect(new LedgerQueue(7, deps()).waiting).toHaveLength(0)
    expect(shelf.length).toBe(3)
  })

  it('says when the browser keeps nothing, and still sends', async () => {
    shelf.full = true
    weather = () => 'lost on the way'
    const q = new LedgerQueue(7, deps())
    q.add([entry('a')])
    await quiet(q)
    expect(q.homeless).toBe(true)
    weather = () => 'fine'
    q.flush()
    await quiet(q)
    expect([q.homeless, atServer()]).toEqual([false, ['a']])
    const bare = new LedgerQueue(7, deps({ shelf: null }))
    bare.add([entry('b')])
    await quiet(bare)
    expect(atServer()).toEqual(['a', 'b'])
  })
})

describe('refused entries', () => {
  beforeEach(() => {
    server.refuses = (e) => (e.body === 'bad' ? 'This term is no longer offered.' : null)
  })
  const bad = { ...entry('x'), body: 'bad' }

  it('are found among the good ones, kept, and told', async () => {
    const q = new LedgerQueue(7, deps())
    q.add([entry('a'), bad, entry('b')])
    await quiet(q)
    expect(atServer()).toEqual(['a', 'b'])
    expect(q.refused.map((i) => [i.entry.uuid, i.refused])).toEqual([['x', 'This term is no longer offered.']])
    expect([q.state, q.isRefused('x'), shelf.length]).toEqual(['idle', true, 1])
    q.close()
    expect(new LedgerQueue(7, deps()).refused).toHaveLength(1)
  })

  it('can be tried again or given up', async () => {
    const q = new LedgerQueue(7, deps())
    q.add([bad, { ...entry('y'), body: 'bad', kind: 'retraction', retracts: 'x' }])
    await quiet(q)
    expect(q.refused).toHaveLength(2)
    q.drop('x')
    expect([q.refused.length, shelf.length]).toEqual([0, 0])
    q.add([bad])
    await quiet(q)
    server.refuses = () => null
    q.retry('x')
    await quiet(q)
    expect([q.refused.length, atServer()]).toEqual([0, ['x']])
  })
})

it('whatever the weather, and however often the page is loaded again, the server has each entry exactly once', async () => {
  const step = fc.oneof(
    { weight: 5, arbitrary: fc.record({ do: fc.constant('say' as const), n: fc.integer({ min: 1, max: 4 }) }) },
    { weight: 2, arbitrary: fc.record({ do: fc.constant('reload' as const) }) },
    { weight: 2, arbitrary: fc.record({ do: fc.constant('second tab' as const) }) },
    { weight: 2, arbitrary: fc.record({ do: fc.constant('wait' as const) }) },
    { weight: 3, arbitrary: fc.record({ do: fc.constant('timer' as const) }) },
    { weight: 1, arbitrary: fc.record({ do: fc.constant('back' as const) }) },
  )
  const skies = fc.array(fc.constantFrom<Weather>('fine', 'lost on the way', 'answer lost', 'signed out'), { minLength: 1, maxLength: 40 })
  await fc.assert(
    fc.asyncProperty(fc.array(step, { maxLength: 40 }), skies, async (steps, sky) => {
      server = new FakeLedger()
      server.refuses = (e) => (e.body?.endsWith('3') ? 'no' : null)
      shelf = new FakeShelf()
      timers = []
      let i = 0
      weather = () => sky[i++ % sky.length]!
      const said: string[] = []
      const tabs = [new LedgerQueue(7, deps())]
      for (const s of steps) {
        const q = tabs[0]!
        if (s.do === 'say') {
          const fresh = Array.from({ length: s.n }, () => entry(`e${said.length + Math.random()}:${said.length % 10}`))
          said.push(...fresh.map((e) => e.uuid))
          q.add(fresh)
        } else if (s.do === 'reload') {
          q.close() // what was on its way may still arrive
          tabs[0] = new LedgerQueue(7, deps())
          tabs[0].flush()
        } else if (s.do === 'second tab') {
          tabs.unshift(new LedgerQueue(7, deps()))
        } else if (s.do === 'wait') await new Promise<void>((r) => setImmediate(r))
        else if (s.do === 'timer') timers.shift()?.fn()
        else q.flush()
      }
      weather = () => 'fine'
      for (const t of tabs) await quiet(t)
      const last = new LedgerQueue(7, deps())
      last.flush()
      await quiet(last)
      const refused = last.refused.map((w) => w.entry.uuid)
      expect(atServer().toSorted()).toEqual(said.filter((u) => !u.endsWith('3')).toSorted())
      expect(refused.toSorted()).toEqual(said.filter((u) => u.endsWith('3')).toSorted())
      expect(last.waiting).toHaveLength(0)
      // Each tab's own order is kept.
      if (tabs.length === 1) expect(atServer()).toEqual(said.filter((u) => atServer().includes(u)))
      for (const t of tabs) t.close()
    }),
    { numRuns: 150 },
  )
})
