/** A ledger in memory with the server's rules, a shelf, and hands to act with: for tests only. */
import type { Entry, Observation } from '../api/types'
import type { Wording } from './ledger-acts'
import type { Shelf } from './ledger-queue'

export const wording: Wording = { me: 7, name: 'Asha', many: (g) => g === 'hands', term: (_, t) => t }

/** Of the real uuid only that none comes twice. */
export function uuids(prefix: string): () => string {
  let n = 0
  return () => `${prefix}-${++n}`
}

export class FakeShelf implements Shelf {
  #kept = new Map<string, string>()
  full = false

  get length(): number {
    return this.#kept.size
  }

  key(i: number): string | null {
    return [...this.#kept.keys()][i] ?? null
  }

  getItem(key: string): string | null {
    return this.#kept.get(key) ?? null
  }

  setItem(key: string, value: string): void {
    if (this.full) throw new Error('QuotaExceededError')
    this.#kept.set(key, value)
  }

  removeItem(key: string): void {
    this.#kept.delete(key)
  }
}

/** Says no to an entry for good. */
export class Refusal extends Error {}

/**
 * The server as the store has it, written apart from what the page foresees: rows are only added, each names the one
 * it supersedes, and what nothing supersedes holds.
 */
export class FakeLedger {
  rows: { entry: Entry; supersedes: string[] }[] = []
  /** How often an entry arrived that was there already. */
  repeats = 0
  refuses: (e: Entry) => string | null = () => null

  get uuids(): string[] {
    return this.rows.map((r) => r.entry.uuid)
  }

  /** All or nothing; answers what now holds on each ball spoken of. */
  add(batch: readonly Entry[]): Observation[] {
    for (const e of batch) {
      const why = this.refuses(e)
      if (why) throw new Refusal(why)
    }
    for (const e of batch) {
      if (this.uuids.includes(e.uuid)) {
        this.repeats++
        continue
      }
      const supersedes = e.retracts ? [e.retracts] : []
      if (e.kind === 'term' && e.group !== 'hands') {
        const earlier = this.#holding(e.ball_id).filter((k) => k.kind === 'term' && k.group === e.group)
        supersedes.push(...earlier.map((k) => k.uuid))
      }
      this.rows.push({ entry: structuredClone(e), supersedes })
    }
    return [...new Set(batch.map((e) => e.ball_id))].flatMap((b) => this.seen(b))
  }

  seen(ball: number): Observation[] {
    return this.#holding(ball).map((e, i) => ({
      id: i + 1,
      uuid: e.uuid,
      ball_id: ball,
      coder_id: wording.me,
      coder: wording.name,
      kind: e.kind === 'retraction' ? 'note' : e.kind,
      at_us: e.at_us ?? null,
      until_us: e.until_us ?? null,
      group: e.group ?? '',
      term: e.term ?? '',
      wording: '',
      edition: 1,
      body: e.body ?? '',
      drawing: e.drawing ?? null,
      recording_id: e.recording_id ?? null,
      made: '',
    }))
  }

  #holding(ball: number): Entry[] {
    const gone = new Set(this.rows.flatMap((r) => r.supersedes))
    const there = this.rows.map((r) => r.entry).filter((e) => e.ball_id === ball)
    return there.filter((e) => e.kind !== 'retraction' && !gone.has(e.uuid))
  }
}
