import { beforeEach, describe, expect, it } from 'vitest'
import { ApiError } from '../api/error'
import type { Ball, Clip, Entry, Group, Observation, Recording, Session, Vocabulary } from '../api/types'
import { Balls, type Source } from './coding-balls.svelte'
import { Coding, type Outlet } from './coding.svelte'
import { FakeLedger, uuids, wording } from './ledger-fakes'

const group = (key: string, press: string, more: Partial<Group> = {}): Group => ({
  key, press, name: key.toUpperCase(), many: false, ordered: false, retired: false,
  terms: ['a', 'b', 'c'].map((k, i) => ({ key: k, name: `${key} ${k}`, press: String(i + 1), retired: false })),
  ...more,
})
const words: Vocabulary = {
  number: 1,
  groups: [group('feed', 'f'), group('length', 'l'), group('shot', 's'), group('hands', 'd', { many: true }), group('base', 'a')],
}
const clip = (id: number, recording: number, hasFile = true): Clip => ({
  id, recording_id: recording, camera: 'side-on', revision: 1, start_us: 0, end_us: 1, poster: '', smooth: false, problem: '',
  file: hasFile ? { which: 'quick', url: `/${id}`, lead_us: 0, frames_us: [0] } : null,
})
const ball = (id: number, number: number, block: number | null = null): Ball => ({
  id, session_id: 1, number, start_us: number * 10_000_000, contact_us: null, end_us: number * 10_000_000 + 3_000_000, confidence: 1,
  state: 'accepted', block_id: block, player_id: null, clips: [clip(id * 10, 1, false), clip(id * 10 + 1, 2)], seen: [], measured: [],
})
const session = { id: 1, title: 'Winter', focus: ['length', 'shot', 'base'] } as Session
const block = { id: 5, name: 'Machine', start_us: 0, end_us: 1, feed: 'a' }
const theirs: Observation = {
  id: 9, uuid: 'theirs', ball_id: 11, coder_id: 99, coder: 'Ben', kind: 'term', at_us: 1, until_us: null, group: 'length', term: 'b',
  wording: 'length b', edition: 1, body: '', drawing: null, recording_id: null, made: '',
}

/** The server: a ledger and what it is asked. `held` answers wait until they are let go. */
class Fake implements Source {
  ledger = new FakeLedger()
  list = [ball(11, 1), ball(12, 2, 5), ball(13, 3)]
  asked: string[] = []
  held: (() => void)[] | null = null
  session = async () => session
  lane = async () => ({ blocks: [block], recordings: [{ id: 2, rate_ppm: 40 } as Recording] })
  vocabulary = async () => words
  sessionBalls = () => this.#answer('all', () => this.list.map((b) => this.#full(b)))
  ball = (id: number) =>
    this.#answer(`ball ${id}`, () => {
      const b = this.list.find((x) => x.id === id)
      if (!b) throw new ApiError(404, 'gone')
      return this.#full(b)
    })
  #full = (b: Ball): Ball => ({ ...b, seen: [...b.seen, ...this.ledger.seen(b.id)] })
  async #answer<T>(name: string, make: () => T): Promise<T> {
    this.asked.push(name)
    const made = make() // as of now, however late it arrives
    if (this.held) await new Promise<void>((go) => this.held!.push(go))
    return made
  }
}

/** A queue that saves when told to. */
class Out implements Outlet {
  waiting: { entry: Entry }[] = []
  refused = new Set<string>()
  add(entries: readonly Entry[]): void {
    this.waiting.push(...entries.map((entry) => ({ entry })))
  }
  drop(uuid: string): void {
    this.refused.delete(uuid)
  }
  isRefused = (uuid: string): boolean => this.refused.has(uuid)
}

let source: Fake
let out: Out
let balls: Balls
let page: Coding
const quiet = () => new Promise<void>((r) => setImmediate(r))
const save = () => {
  const entries = out.waiting.map((w) => w.entry)
  out.waiting = []
  if (entries.length > 0) balls.saved(entries, source.ledger.add(entries))
}
const holds = (id: number) => page.seenOf(balls.get(id)!).map((o) => `${o.coder_id}:${o.group || o.kind}:${o.term || o.body}`)
const press = (keys: string) => {
  for (const k of keys) page.put(page.termFor(k)!, 20_000_000)
}

beforeEach(async () => {
  source = new Fake()
  out = new Out()
  balls = new Balls(1, source)
  page = new Coding(balls, out, { id: wording.me, name: wording.name }, uuids('u'))
  await balls.load()
  page.show()
})

describe('coding a ball', () => {
  it('takes as many strokes as the focus has groups', () => {
    expect([page.ballId, page.openKey]).toEqual([11, 'length'])
    press('121')
    expect(holds(11)).toEqual(['7:length:a', '7:shot:b', '7:base:a'])
    expect([page.codedBy.get(11), page.codedCount, page.openKey]).toEqual(['all', 1, 'base'])
  })

  it('is seen at once, and stays when the server has it', () => {
    press('12')
    const before = holds(11)
    save()
    expect(holds(11)).toEqual(before)
    expect(source.ledger.rows).toHaveLength(2)
  })

  it('the same key again takes the term back', () => {
    press('1')
    page.openGroup('length')
    press('1')
    expect(holds(11)).toEqual([])
    expect([page.said, page.openKey]).toEqual(['length a taken back', 'length'])
  })

  it('leaves what others said alone, and does not count it as mine', async () => {
    source.list[0]!.seen = [theirs]
    await balls.load()
    expect(page.codedBy.get(11)).toBe('some')
    press('1')
    expect(holds(11)).toEqual(['99:length:b', '7:length:a'])
  })

  it('a group of many stays open and takes several', () => {
    page.openGroup('hands')
    press('12')
    expect(holds(11)).toEqual(['7:hands:a', '7:hands:b'])
    expect(page.openKey).toBe('hands')
  })

  it('what the block gives needs no stroke', () => {
    page.show(12)
    expect(page.given.get('feed')).toBe('a')
    expect(page.seen).toEqual([])
  })

  it('goes to the next ball by itself if that is wanted', () => {
    page.goOn = true
    press('11')
    expect(page.ballId).toBe(11)
    press('1')
    expect([page.ballId, page.openKey]).toEqual([12, 'length'])
  })

  it('marks a span by two presses, in either order of time', () => {
    page.mark('a', 20_000_000)
    expect([page.draft?.term, holds(11)]).toEqual(['a', []])
    page.mark('a', 19_000_000)
    expect(page.seen.map((o) => [o.at_us, o.until_us])).toEqual([[19_000_000, 20_000_000]])
    expect(page.draft).toBeNull()
  })
})

describe('undo', () => {
  it('goes back over balls, and there', () => {
    press('1')
    page.show(12)
    press('2')
    page.undo()
    page.undo()
    expect([page.ballId, holds(11), holds(12), page.canUndo]).toEqual([11, [], [], false])
    expect(page.said).toBe('Undone: length a, ball 1')
    page.undo()
    expect(page.said).toBe('Nothing to undo')
  })

  it('of a correction brings the earlier term back, saved in between or not', () => {
    press('1')
    save()
    page.openGroup('length')
    press('2')
    save()
    page.undo()
    expect(holds(11)).toEqual(['7:length:a'])
    save()
    expect(holds(11)).toEqual(['7:length:a'])
    page.undo()
    save()
    expect(holds(11)).toEqual([])
  })

  it('gives up a span that has only begun', () => {
    page.mark('a', 20_000_000)
    page.undo()
    expect([page.draft, out.waiting]).toEqual([null, []])
  })

  it('drops what the server refused', () => {
    press('1')
    out.refused.add(out.waiting[0]!.entry.uuid)
    out.waiting = []
    page.undo()
    expect([out.refused.size, out.waiting]).toEqual([0, []])
  })

  it('of a note and its correction', () => {
    page.note(11, 'early', 20_000_000)
    page.note(11, 'late', null, page.seen[0])
    expect(holds(11)).toEqual(['7:note:late'])
    expect(page.seen[0]!.at_us).toBe(20_000_000)
    page.undo()
    expect(holds(11)).toEqual(['7:note:early'])
    page.note(11, '  ', null)
    page.note(11, 'early ', null, page.seen[0])
    page.undo()
    expect(holds(11)).toEqual([])
  })
})

describe('the balls', () => {
  it('go on and back, and say where they end', () => {
    page.move(-1)
    expect([page.ballId, page.said]).toEqual([11, 'This is the first ball'])
    page.move(1)
    page.move(1)
    page.move(1)
    expect([page.ballId, page.said]).toEqual([13, 'This is the last ball'])
  })

  it('can be narrowed to what is not coded; the one at hand stays until it is left', () => {
    page.filter(true)
    press('111')
    expect(page.listed.map((b) => b.number)).toEqual([1, 2, 3])
    page.move(1)
    expect(page.listed.map((b) => b.number)).toEqual([2, 3])
  })

  it('a ball that is not there opens another, with a word', () => {
    page.show(77)
    expect([page.ballId, page.notice]).toEqual([11, 'That ball is no longer in this session. Here is another.'])
    page.show(11) // the address follows
    expect(page.notice).not.toBe('')
    page.show(12)
    expect(page.notice).toBe('')
  })

  it('a ball that is taken away while it is looked at gives way to the next', async () => {
    page.show(12)
    source.list = source.list.filter((b) => b.id !== 12)
    balls.changed({ topic: 'lane', id: 0, session: 1 })
    await quiet()
    expect(page.ball).toBeUndefined()
    page.show(page.ballId)
    expect(page.ballId).toBe(13)
  })

  it('shows the chosen angle, else one that has a file', () => {
    expect(page.clip?.id).toBe(111)
    expect(page.rateOf(page.clip)).toBe(40)
    page.recordingId = 1
    expect(page.clip?.id).toBe(110)
  })
})

describe('staying fresh', () => {
  it('fetches the ball an event speaks of, several of them once', async () => {
    source.asked = []
    balls.changed({ topic: 'observation', id: 12, session: 1 })
    for (const id of [110, 110, 121]) balls.changed({ topic: 'clip', id, session: 1 })
    balls.changed({ topic: 'clip', id: 5, session: 44 })
    await quiet()
    expect(source.asked).toEqual(['ball 12', 'ball 11', 'ball 12'])
  })

  it('takes out a ball that is gone', async () => {
    source.list = source.list.slice(1)
    balls.changed({ topic: 'observation', id: 11, session: 1 })
    await quiet()
    expect(balls.all.map((b) => b.number)).toEqual([2, 3])
  })

  it('an answer from before a save does not make the saved term vanish', async () => {
    source.held = []
    balls.changed({ topic: 'observation', id: 11, session: 1 })
    press('1')
    save()
    const late = source.held
    source.held = null
    late.forEach((go) => go())
    await quiet()
    expect(holds(11)).toEqual(['7:length:a'])
    expect(source.asked.filter((a) => a === 'ball 11')).toHaveLength(2)
  })

  it('says why the page can’t be opened', async () => {
    const lost = new Balls(1, { ...source, session: () => Promise.reject(new ApiError(404, 'No such session.')) })
    await lost.load()
    expect([lost.loaded, (lost.problem as Error).message]).toEqual([false, 'No such session.'])
  })
})
