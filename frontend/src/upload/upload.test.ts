import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Upload as ServerRow } from '../api/types'
import type { Cargo, Carrier, CarrierEvents } from './carrier'
import { Speed } from './speed'
import { merge, SessionUploads, type World } from './upload.svelte'

const fileOf = (name: string, size = 1000): File => ({ name, size, lastModified: 1 }) as File

class FakeCarrier implements Carrier {
  running = false
  starts = 0
  discarded = false
  constructor(
    readonly cargo: Cargo,
    readonly says: CarrierEvents,
  ) {}
  start() {
    this.running = true
    this.starts++
  }
  async pause() {
    this.running = false
  }
  async discard() {
    this.running = false
    this.discarded = true
  }
  finish() {
    this.running = false
    this.says.onDone()
  }
  break(words: string, passing: boolean) {
    this.running = false
    this.says.onStop(words, passing)
  }
}

function scene() {
  const carriers: FakeCarrier[] = []
  const returns = new Set<() => void>()
  const timers: { ms: number; fn: () => void; live: boolean }[] = []
  let now = 0
  let changes = 0
  const world: World = {
    carry: (cargo, says) => {
      const c = new FakeCarrier(cargo, says)
      carriers.push(c)
      return c
    },
    now: () => now,
    onReturn: (fn) => {
      returns.add(fn)
      return () => returns.delete(fn)
    },
    after: (ms, fn) => {
      const t = { ms, fn, live: true }
      timers.push(t)
      return () => (t.live = false)
    },
    changed: () => changes++,
  }
  const uploads = new SessionUploads(7, world)
  return {
    uploads,
    carriers,
    timers,
    connectionReturns: () => [...returns].forEach((fn) => fn()),
    pass: (ms: number) => (now += ms),
    changes: () => changes,
    running: () => carriers.filter((c) => c.running).map((c) => c.cargo.file.name),
    phases: () => uploads.files.map((f) => f.phase),
  }
}

describe('uploads', () => {
  it('wait for the word, then go two at a time, in order', () => {
    const s = scene()
    s.uploads.add(['a', 'b', 'c'].map((n) => fileOf(n)))
    expect(s.phases()).toEqual(['chosen', 'chosen', 'chosen'])
    s.uploads.go()
    expect(s.running()).toEqual(['a', 'b'])
    s.carriers[0]!.finish()
    expect(s.running()).toEqual(['b', 'c'])
    expect(s.phases()).toEqual(['landed', 'sending', 'sending'])
  })

  it('carry the camera that was chosen for each', () => {
    const s = scene()
    s.uploads.add([fileOf('a'), fileOf('b')])
    s.uploads.files[1]!.camera = 'behind-the-arm'
    s.uploads.go()
    expect(s.carriers.map((c) => [c.cargo.camera, c.cargo.session])).toEqual([
      ['side-on', 7],
      ['behind-the-arm', 7],
    ])
  })

  it('take no file twice, and refuse an empty one while the rest goes on', () => {
    const s = scene()
    s.uploads.add([fileOf('a'), fileOf('empty', 0), fileOf('a')])
    s.uploads.go()
    expect(s.phases()).toEqual(['sending', 'failed'])
    expect(s.uploads.files[1]!.problem).toContain('empty')
  })

  it('say on the row what is wrong, and the rest goes on', () => {
    const s = scene()
    s.uploads.add(['a', 'b', 'c'].map((n) => fileOf(n)))
    s.uploads.go()
    s.carriers[0]!.break('The disk of the server is full.', false)
    expect(s.uploads.files[0]).toMatchObject({ phase: 'failed', problem: 'The disk of the server is full.' })
    expect(s.running()).toEqual(['b', 'c'])
    s.uploads.resume(s.uploads.files[0]!)
    expect(s.uploads.files[0]).toMatchObject({ phase: 'waiting', problem: '' })
  })

  it('go on by themselves when the connection returns', () => {
    const s = scene()
    s.uploads.add([fileOf('a')])
    s.uploads.go()
    s.carriers[0]!.break('lost', true)
    expect(s.phases()).toEqual(['stalled'])
    s.connectionReturns()
    expect(s.phases()).toEqual(['sending'])
    expect(s.carriers).toHaveLength(1)
    expect(s.carriers[0]!.starts).toBe(2)
    expect(s.timers[0]!.live).toBe(false)
  })

  it('try again by the clock, ever more slowly until bytes move', () => {
    const s = scene()
    s.uploads.add([fileOf('a')])
    s.uploads.go()
    for (let i = 0; i < 6; i++) {
      s.carriers[0]!.break('lost', true)
      s.timers.at(-1)!.fn()
    }
    expect(s.timers.map((t) => t.ms)).toEqual([5000, 10_000, 20_000, 40_000, 60_000, 60_000])
    s.carriers[0]!.says.onProgress(10)
    s.carriers[0]!.break('lost', true)
    expect(s.timers.at(-1)!.ms).toBe(5000)
  })

  it('pause and go on where they were', async () => {
    const s = scene()
    s.uploads.add(['a', 'b', 'c'].map((n) => fileOf(n)))
    s.uploads.go()
    s.carriers[0]!.says.onProgress(400)
    await s.uploads.pause(s.uploads.files[0]!)
    expect(s.phases()).toEqual(['paused', 'sending', 'sending'])
    expect(s.uploads.files[0]!.sent).toBe(400)
    s.carriers[0]!.says.onProgress(500) // a late word of the stopped one
    s.carriers[0]!.break('aborted', true)
    expect(s.phases()[0]).toBe('paused')
    s.uploads.resume(s.uploads.files[0]!)
    expect(s.phases()[0]).toBe('waiting')
    s.carriers[1]!.finish()
    expect(s.phases()).toEqual(['sending', 'landed', 'sending'])
    expect(s.carriers).toHaveLength(3)
  })

  it('cancel what has arrived, and the next takes the place', async () => {
    const s = scene()
    s.uploads.add(['a', 'b', 'c'].map((n) => fileOf(n)))
    s.uploads.go()
    await s.uploads.cancel(s.uploads.files[0]!)
    expect(s.carriers[0]!.discarded).toBe(true)
    expect(s.running()).toEqual(['b', 'c'])
    expect(s.changes()).toBe(1)
  })

  it('go on after a reload with the file picked again, and with no other', () => {
    const s = scene()
    const row = { tus_id: 't1', file_name: 'a.mov', size: 1000, camera: 'other' as const }
    expect(s.uploads.rejoin(row, fileOf('a.mov', 999))).toContain('a.mov')
    expect(s.carriers).toHaveLength(0)
    expect(s.uploads.rejoin(row, fileOf('renamed.mov', 1000))).toBe('')
    expect(s.carriers[0]!.cargo).toMatchObject({ tusId: 't1', camera: 'other' })
  })

  it('measure speed and time left', () => {
    const s = scene()
    s.uploads.add([fileOf('a', 10_000)])
    s.uploads.go()
    const [c, f] = [s.carriers[0]!, s.uploads.files[0]!]
    c.says.onProgress(0)
    s.pass(1000)
    c.says.onProgress(2000)
    expect(f.speed).toBe(2000)
    expect(f.left).toBe(4)
    expect(f.share).toBe(0.2)
  })

  it('keep their laws whatever happens', () => {
    const step = fc.tuple(fc.constantFrom('add', 'go', 'finish', 'lose', 'fail', 'pause', 'resume', 'cancel', 'return'), fc.nat(9))
    fc.assert(
      fc.property(fc.array(step, { maxLength: 60 }), (steps) => {
        const s = scene()
        for (const [what, n] of steps) {
          const row = s.uploads.files[n % Math.max(1, s.uploads.files.length)]
          const carrier = s.carriers.filter((c) => c.running)[n % 2]
          if (what === 'add') s.uploads.add([fileOf(`f${n}`)])
          else if (what === 'go') s.uploads.go()
          else if (what === 'finish') carrier?.finish()
          else if (what === 'lose') carrier?.break('lost', true)
          else if (what === 'fail') carrier?.break('no', false)
          else if (what === 'return') s.connectionReturns()
          else if (row && what === 'pause') void s.uploads.pause(row)
          else if (row && what === 'resume') s.uploads.resume(row)
          else if (row && what === 'cancel') void s.uploads.cancel(row)

          const sending = s.uploads.files.filter((f) => f.phase === 'sending')
          expect(s.running()).toHaveLength(sending.length)
          expect(sending.length).toBeLessThanOrEqual(2)
          const waiting = s.uploads.files.some((f) => f.phase === 'waiting')
          expect(waiting && sending.length < 2, 'a free place while a file waits').toBe(false)
          expect(s.uploads.files.every((f) => (f.phase === 'failed') === (f.problem !== '' && f.phase !== 'stalled'))).toBe(true)
        }
      }),
    )
  })
})

describe('merge', () => {
  const row = (tus_id: string, state: ServerRow['state']): ServerRow => ({
    id: 1, tus_id, file_name: tus_id, size: 1000, camera: 'side-on', state, recording_id: null, problem: '', created: '2026-01-31T10:00:00Z',
  })
  it('lists what no file here stands for', () => {
    const s = scene()
    s.uploads.add([fileOf('a')])
    s.uploads.go()
    s.carriers[0]!.says.onAddress('t-a')
    const rows = [row('t-a', 'open'), row('t-b', 'open'), row('t-c', 'landed'), row('t-d', 'adopted'), row('t-e', 'duplicate'), row('t-f', 'failed')]
    const { others, settled } = merge(s.uploads.files, rows)
    expect(others.map((o) => [o.row.tus_id, o.standing])).toEqual([
      ['t-b', 'broken'],
      ['t-c', 'checking'],
      ['t-e', 'duplicate'],
      ['t-f', 'failed'],
    ])
    expect(settled).toEqual([])
  })
  it('hands a file over once the server has decided on it', () => {
    const s = scene()
    s.uploads.add([fileOf('a')])
    s.uploads.go()
    s.carriers[0]!.says.onAddress('t-a')
    s.carriers[0]!.finish()
    expect(merge(s.uploads.files, [row('t-a', 'landed')])).toEqual({ others: [], settled: [] })
    const { others, settled } = merge(s.uploads.files, [row('t-a', 'failed')])
    expect(settled).toEqual(s.uploads.files)
    expect(others.map((o) => o.standing)).toEqual(['failed'])
  })
})

describe('speed', () => {
  it('looks at the last seconds only, and starts again when bytes go back', () => {
    const v = new Speed()
    expect(v.perSecond).toBe(0)
    for (let t = 0; t <= 10; t++) v.mark(t * 1000, t * 100)
    for (let t = 11; t <= 20; t++) v.mark(t * 1000, 1000 + (t - 10) * 500)
    expect(v.perSecond).toBe(500)
    v.mark(21_000, 3000)
    expect(v.perSecond).toBe(0)
  })
})
