/**
 * Entries on their way to the ledger. Each is kept in the browser's storage before it is sent, and until the server
 * has it: a lost connection, a closed tab or a crash lose nothing. Entries have UUIDs, so that sending one twice
 * changes nothing. They go in order, several at a time. No DOM, no fetch: both are handed in.
 */
import type { Entry, Observation } from '../api/types'

/** Of localStorage, what is needed. */
export interface Shelf {
  readonly length: number
  key(i: number): string | null
  getItem(key: string): string | null
  setItem(key: string, value: string): void
  removeItem(key: string): void
}

/** What to do after a failed send. */
export type Verdict =
  | { then: 'again' } // no connection, or trouble on the server: try again by and by
  | { then: 'sign-in' } // try again when somebody has signed in
  | { then: 'refused'; why: string } // the server will not have it as it is

/** What a queue needs to know of what it sends. */
export interface Sent {
  uuid: string
  /** An entry that this one speaks of. */
  retracts?: string | null
}

/** E: what is sent, A: what the server answers. */
export interface Deps<E extends Sent = Entry, A = Observation[]> {
  send(entries: E[]): Promise<A>
  judge(err: unknown): Verdict
  /** Runs fn later; the answer calls it off. */
  later(ms: number, fn: () => void): () => void
  /** null when the browser keeps nothing. */
  shelf: Shelf | null
  now(): number
  /** Called after each change of `waiting`, `refused` or `state`. */
  changed(): void
  /** The server has these entries; `holds` is what now holds on each ball spoken of. */
  saved(entries: E[], holds: A): void
}

/** An entry that waits, or was refused. */
export interface Waiting<E extends Sent = Entry> {
  entry: E
  /** Order of being said, across reloads. */
  seq: number
  /** Why the server would not have it; '' while it has not said so. */
  refused: string
}

/** idle: all is saved. sending: under way. later: a try failed, the next comes by itself. signed-out: needs a person. */
export type QueueState = 'idle' | 'sending' | 'later' | 'signed-out'

const MAX_ENTRIES = 200 // of one save, as the server has it
const MAX_BYTES = 500_000
const FIRST_WAIT = 1_000
const LONGEST_WAIT = 30_000

export class LedgerQueue<E extends Sent = Entry, A = Observation[]> {
  state: QueueState = 'idle'
  /** The browser could not keep an entry: the page must stay open until it is saved. */
  homeless = false

  #deps: Deps<E, A>
  #prefix: string
  #items: Waiting<E>[] = []
  #adopted = new Set<string>() // uuids found on the shelf rather than said here
  #seq = 0
  #failures = 0
  #oneByOne = 0 // so many are still to be sent alone, to find the one that was refused
  #callOff: (() => void) | null = null
  #closed = false

  /**
   * `account`: whose entries these are. Those of somebody else who used this browser are left alone. `shelfName`: which
   * queue of theirs this is.
   */
  constructor(account: number, deps: Deps<E, A>, shelfName = 'ledger') {
    this.#deps = deps
    this.#prefix = `netreel.${shelfName}.${account}.`
    this.#items = this.#fromShelf()
    for (const i of this.#items) this.#adopted.add(i.entry.uuid)
    this.#seq = this.#items.at(-1)?.seq ?? 0
  }

  /** What waits to be saved, in order. */
  get waiting(): readonly Waiting<E>[] {
    return this.#items.filter((i) => !i.refused)
  }

  /** What the server would not have. It stays until a person decides. */
  get refused(): readonly Waiting<E>[] {
    return this.#items.filter((i) => i.refused)
  }

  /** Keeps entries and sends them at once. */
  add(entries: readonly E[]): void {
    for (const entry of entries) {
      this.#seq = Math.max(this.#seq + 1, this.#deps.now() * 1000)
      const item: Waiting<E> = { entry, seq: this.#seq, refused: '' }
      this.#items.push(item)
      this.#keep(item)
    }
    this.#deps.changed()
    this.flush()
  }

  /** Sends what waits, now: the connection is back, the page is looked at again, somebody has signed in. */
  flush(): void {
    if (this.#closed || this.state === 'sending') return
    this.#callOff?.()
    this.#callOff = null
    const batch = this.#batch()
    if (batch.length === 0) {
      this.#to('idle')
      return
    }
    this.#to('sending')
    this.#deps.send(batch.map((i) => i.entry)).then(
      (holds) => this.#done(batch, holds),
      (err: unknown) => this.#failed(batch, err),
    )
  }

  /** Tries a refused entry once more, with all that is said after it. */
  retry(uuid: string): void {
    const item = this.#items.find((i) => i.entry.uuid === uuid && i.refused)
    if (!item) return
    item.refused = ''
    this.#keep(item)
    this.#deps.changed()
    this.flush()
  }

  /** Gives a refused entry up, and the refused ones that speak of it. */
  drop(uuid: string): void {
    const gone = new Set(this.refused.filter((i) => i.entry.uuid === uuid || i.entry.retracts === uuid).map((i) => i.entry.uuid))
    this.#forget(gone)
    this.#deps.changed()
  }

  isRefused(uuid: string): boolean {
    return this.refused.some((i) => i.entry.uuid === uuid)
  }

  /** Stops sending. What waits stays on the shelf. */
  close(): void {
    this.#closed = true
    this.#callOff?.()
  }

  #batch(): Waiting<E>[] {
    // Another tab may have sent, or a person there given up, what was found on the shelf.
    const elsewhere = this.waiting.filter((i) => this.#adopted.has(i.entry.uuid) && !this.#onShelf(i))
    if (elsewhere.length > 0) this.#items = this.#items.filter((i) => !elsewhere.includes(i))
    const most = this.#oneByOne > 0 ? 1 : MAX_ENTRIES
    const batch: Waiting<E>[] = []
    let bytes = 0
    for (const item of this.waiting) {
      bytes += JSON.stringify(item.entry).length
      if (batch.length > 0 && (batch.length >= most || bytes > MAX_BYTES)) break
      batch.push(item)
    }
    return batch
  }

  #done(batch: Waiting<E>[], holds: A): void {
    this.#failures = 0
    this.#oneByOne = Math.max(0, this.#oneByOne - batch.length)
    this.#forget(new Set(batch.map((i) => i.entry.uuid)))
    this.#deps.saved(batch.map((i) => i.entry), holds)
    this.state = 'idle'
    this.flush()
  }

  #failed(batch: Waiting<E>[], err: unknown): void {
    const verdict = this.#deps.judge(err)
    this.state = 'idle'
    if (verdict.then === 'refused') {
      this.#failures = 0
      if (batch.length > 1) {
        // All or nothing: one of them spoilt it for the rest.
        this.#oneByOne = batch.length
      } else {
        this.#oneByOne = Math.max(0, this.#oneByOne - 1)
        batch[0]!.refused = verdict.why
        this.#keep(batch[0]!)
      }
      this.flush()
      return
    }
    this.#to(verdict.then === 'sign-in' ? 'signed-out' : 'later')
    if (this.#closed) return
    const wait = Math.min(LONGEST_WAIT, FIRST_WAIT * 2 ** this.#failures++)
    this.#callOff = this.#deps.later(wait, () => this.flush())
  }

  #to(state: QueueState): void {
    this.state = state
    this.#deps.changed()
  }

  #forget(uuids: ReadonlySet<string>): void {
    for (const i of this.#items) if (uuids.has(i.entry.uuid)) this.#try((s) => s.removeItem(this.#key(i)))
    this.#items = this.#items.filter((i) => !uuids.has(i.entry.uuid))
    if (this.#items.length === 0) this.homeless = false
  }

  // One shelf key an entry: two tabs never overwrite each other's.
  #key(i: Waiting<E>): string {
    return `${this.#prefix}${i.entry.uuid}`
  }

  #keep(i: Waiting<E>): void {
    if (!this.#try((s) => s.setItem(this.#key(i), JSON.stringify(i)))) this.homeless = true
  }

  #onShelf(i: Waiting<E>): boolean {
    let there = true
    this.#try((s) => (there = s.getItem(this.#key(i)) !== null))
    return there
  }

  /** Storage may be full, or forbidden. */
  #try(fn: (s: Shelf) => void): boolean {
    if (!this.#deps.shelf) return false
    try {
      fn(this.#deps.shelf)
      return true
    } catch {
      return false
    }
  }

  #fromShelf(): Waiting<E>[] {
    const found: Waiting<E>[] = []
    this.#try((s) => {
      for (let n = 0; n < s.length; n++) {
        const key = s.key(n)
        if (!key?.startsWith(this.#prefix)) continue
        const item = read<E>(s.getItem(key))
        if (item) found.push(item)
      }
    })
    return found.sort((a, b) => a.seq - b.seq)
  }
}

function read<E extends Sent>(text: string | null): Waiting<E> | null {
  try {
    const v = JSON.parse(text ?? '') as Partial<Waiting<E>>
    if (typeof v.seq !== 'number' || typeof v.entry?.uuid !== 'string') return null
    return { entry: v.entry, seq: v.seq, refused: v.refused ?? '' }
  } catch {
    return null // not ours to judge; it stays where it is
  }
}
