/**
 * The page's ledger queue: one for whoever is signed in, from the moment they are. It sends again when the
 * connection is back or the page is looked at, and tells what is still on its way.
 */
import { observe } from '../api/balls'
import { ApiError, wordsOf } from '../api/error'
import { me as askWho } from '../api/people'
import type { Entry, Observation } from '../api/types'
import { connection } from './connection.svelte'
import { LedgerQueue, type QueueState, type Shelf, type Verdict, type Waiting } from './ledger-queue'

/** Hears which entries the server has, and what now holds on each ball spoken of. */
export type SavedListener = (entries: readonly Entry[], holds: readonly Observation[]) => void

/** Somebody else is signed in than who said it. */
export class Stranger extends Error {}

export function judge(err: unknown): Verdict {
  if (err instanceof Stranger || (err instanceof ApiError && err.signedOut)) return { then: 'sign-in' }
  if (err instanceof ApiError && !err.passing && err.status !== 408) return { then: 'refused', why: wordsOf(err) }
  return { then: 'again' }
}

class Ledger {
  #waiting = $state.raw<readonly Waiting[]>([])
  #refused = $state.raw<readonly Waiting[]>([])
  #state = $state<QueueState>('idle')
  #homeless = $state(false)

  #queue: LedgerQueue | null = null
  #sure = false // that the server still takes us for this account
  #listeners = new Set<SavedListener>()

  /** What the server does not have yet, in order. */
  get waiting(): readonly Waiting[] {
    return this.#waiting
  }

  /** What the server would not have; a person decides. */
  get refused(): readonly Waiting[] {
    return this.#refused
  }

  get state(): QueueState {
    return this.#state
  }

  /** Closing the page now would lose something. */
  get homeless(): boolean {
    return this.#homeless
  }

  /** Begins to send for an account, with what an earlier page left behind. Returns the way to stop. */
  start(account: number): () => void {
    this.#sure = true
    const queue = new LedgerQueue(account, {
      send: (entries) => this.#send(account, entries),
      judge,
      later: (ms, fn) => {
        const timer = setTimeout(fn, ms)
        return () => clearTimeout(timer)
      },
      shelf: shelf(),
      now: Date.now,
      changed: () => this.#read(queue),
      saved: (entries, holds) => {
        for (const fn of [...this.#listeners]) fn(entries, holds)
      },
    })
    this.#queue = queue
    this.#read(queue)
    queue.flush()
    const again = () => {
      this.#sure = false // somebody else may have signed in on another tab
      queue.flush()
    }
    const seen = () => {
      if (document.visibilityState === 'visible') again()
    }
    const unload = (e: BeforeUnloadEvent) => {
      if (this.#homeless) e.preventDefault()
    }
    const stopWaiting = connection.onReturn(again)
    document.addEventListener('visibilitychange', seen)
    addEventListener('beforeunload', unload)
    return () => {
      stopWaiting()
      document.removeEventListener('visibilitychange', seen)
      removeEventListener('beforeunload', unload)
      queue.close() // it still keeps what is said while the page goes
    }
  }

  add(entries: readonly Entry[]): void {
    this.#queue?.add(entries)
  }

  /** Tries to save now. */
  flush(): void {
    this.#queue?.flush()
  }

  retry(uuid: string): void {
    this.#queue?.retry(uuid)
  }

  /** Gives a refused entry up. */
  drop(uuid: string): void {
    this.#queue?.drop(uuid)
  }

  isRefused(uuid: string): boolean {
    return this.#queue?.isRefused(uuid) ?? false
  }

  /** Hears of saved entries until the returned function is called. */
  onSaved(fn: SavedListener): () => void {
    this.#listeners.add(fn)
    return () => this.#listeners.delete(fn)
  }

  async #send(account: number, entries: Entry[]): Promise<Observation[]> {
    // Never put one person's words into another's mouth.
    if (!this.#sure) {
      if ((await askWho()).id !== account) throw new Stranger('somebody else is signed in')
      this.#sure = true
    }
    try {
      return await observe(entries)
    } catch (err) {
      this.#sure = false
      throw err
    }
  }

  #read(queue: LedgerQueue): void {
    if (queue !== this.#queue) return
    this.#waiting = queue.waiting
    this.#refused = queue.refused
    this.#state = queue.state
    this.#homeless = queue.homeless
  }
}

/** The browser's storage, null when it is switched off. */
export function shelf(): Shelf | null {
  try {
    return localStorage
  } catch {
    return null
  }
}

export const ledger = new Ledger()
