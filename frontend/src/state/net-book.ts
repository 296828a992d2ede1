/**
 * What was pressed in a session at the net, in the browser's storage from the moment of the press, and what it comes
 * to: how many balls were given, which block is on, how long it has gone on. No DOM, no fetch.
 */
import type { MarkInput, NetBatch, Plan } from '../api/types'
import type { Shelf } from './ledger-queue'
import { type Anchor, serverTime, type Tick } from './net-clock'

export type MarkKind = MarkInput['kind']

/** One press, as the phone keeps it. */
export interface Press {
  uuid: string
  /** The session's number on this phone. */
  session: string
  kind: MarkKind
  tick: Tick
  block: number | null
  ball: number | null
  group: string
  term: string
  body: string
  undoes: string | null
}

/** A session at the net. `id` is the server's number, null until it has one. */
export interface NetSession {
  key: string
  id: number | null
  title: string
  heldOn: string
  plan: Plan | null
}


const SESSION = 'netreel.netsession.'
const PRESS = 'netreel.netpress.'
const CURRENT = 'netreel.netcurrent'
const ANCHORS = 'netreel.netanchors'
const MOST_ANCHORS = 40

export class NetBook {
  #shelf: Shelf | null
  #presses: Press[] = []
  /** Order of being pressed, whatever the clocks say. */
  #seq = 0
  session: NetSession | null = null

  constructor(shelf: Shelf | null) {
    this.#shelf = shelf
    const key = this.#read<string>(CURRENT)
    if (key) this.open(key)
  }

  /** What holds: presses that were taken back are left out. */
  get presses(): readonly Press[] {
    const gone = new Set(this.#presses.map((p) => p.undoes))
    return this.#presses.filter((p) => p.kind !== 'undo' && !gone.has(p.uuid))
  }

  /** The block that is on: of the plan, counted from 0; null before the first or without a plan. */
  get block(): number | null {
    return this.presses.findLast((p) => p.kind === 'block')?.block ?? null
  }

  /** Balls given of a block, or in all. */
  given(block?: number | null): number {
    return this.presses.filter((p) => p.kind === 'given' && (block === undefined || p.block === block)).length
  }

  begin(session: NetSession): void {
    this.session = session
    this.#presses = []
    this.#write(SESSION + session.key, session)
    this.#write(CURRENT, session.key)
  }

  open(key: string): void {
    const session = this.#read<NetSession>(SESSION + key)
    if (!session) return
    this.session = session
    const kept = this.#all<{ seq: number; press: Press }>(`${PRESS}${key}.`).sort((a, b) => a.seq - b.seq)
    this.#presses = kept.map((k) => k.press)
    this.#seq = kept.at(-1)?.seq ?? 0
  }

  /** Keeps a press. False when the browser would not: the page must stay open until it is sent. */
  add(p: Press): boolean {
    this.#presses = [...this.#presses, p]
    return this.#write(`${PRESS}${p.session}.${p.uuid}`, { seq: ++this.#seq, press: p })
  }

  /** The server's number of a session. */
  number(key: string, id: number): void {
    const s = this.sessionOf(key)
    if (!s || s.id === id) return
    const now = { ...s, id }
    this.#write(SESSION + key, now)
    if (this.session?.key === key) this.session = now
  }

  sessionOf(key: string): NetSession | null {
    return this.session?.key === key ? this.session : this.#read<NetSession>(SESSION + key)
  }

  /** Puts the session away. What waits to be sent is the queue's, which looks its session up: that stays. */
  close(): void {
    const s = this.session
    if (!s) return
    for (const p of this.#presses) this.#try((shelf) => shelf.removeItem(`${PRESS}${s.key}.${p.uuid}`))
    this.#try((shelf) => shelf.removeItem(CURRENT))
    this.session = null
    this.#presses = []
  }

  /** Forgets sessions that are put away and of which nothing waits. */
  tidy(waiting: ReadonlySet<string>): void {
    for (const s of this.#all<NetSession>(SESSION)) {
      if (s.key !== this.session?.key && !waiting.has(s.key)) this.#try((shelf) => shelf.removeItem(SESSION + s.key))
    }
  }

  get anchors(): readonly Anchor[] {
    return this.#read<Anchor[]>(ANCHORS) ?? []
  }

  anchor(a: Anchor): void {
    this.#write(ANCHORS, [...this.anchors, a].slice(-MOST_ANCHORS))
  }

  /** What goes to the server: presses by session, each at the server's time. */
  batches(presses: readonly Press[]): NetBatch[] {
    const anchors = this.anchors
    const out: NetBatch[] = []
    for (const key of new Set(presses.map((p) => p.session))) {
      const s = this.sessionOf(key)
      const marks = presses
        .filter((p) => p.session === key)
        .map((p): MarkInput => {
          const { ms, doubt } = serverTime(p.tick, anchors)
          return { uuid: p.uuid, kind: p.kind, made_ms: ms, doubt_ms: doubt, block: p.block, ball: p.ball, group: p.group, term: p.term, body: p.body, undoes: p.undoes }
        })
      if (s?.id) out.push({ session_id: s.id, marks })
      else if (s) out.push({ new: { uuid: s.key, title: s.title, held_on: s.heldOn, plan_id: s.plan?.id ?? null }, marks })
    }
    return out
  }

  #all<T>(prefix: string): T[] {
    const keys: string[] = []
    this.#try((s) => {
      for (let n = 0; n < s.length; n++) {
        const key = s.key(n)
        if (key?.startsWith(prefix)) keys.push(key)
      }
    })
    return keys.map((k) => this.#read<T>(k)).filter((v) => v !== null)
  }

  #read<T>(key: string): T | null {
    let value: T | null = null
    this.#try((s) => {
      const text = s.getItem(key)
      if (text !== null) value = JSON.parse(text) as T
    })
    return value
  }

  #write(key: string, value: unknown): boolean {
    return this.#try((s) => s.setItem(key, JSON.stringify(value)))
  }

  /** Storage may be full, forbidden, or hold what is no JSON. */
  #try(fn: (s: Shelf) => void): boolean {
    if (!this.#shelf) return false
    try {
      fn(this.#shelf)
      return true
    } catch {
      return false
    }
  }
}
