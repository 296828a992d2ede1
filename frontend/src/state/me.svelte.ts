/** Who is signed in. */
import { onReach } from '../api/client'
import { ApiError } from '../api/error'
import * as people from '../api/people'
import type { Me } from '../api/types'

export type Standing = 'unknown' | 'in' | 'out' | 'unreachable'

class Myself {
  #who = $state.raw<Me | null>(null)
  #standing = $state<Standing>('unknown')

  /** The person, null when nobody is signed in. */
  get who(): Me | null {
    return this.#who
  }

  get standing(): Standing {
    return this.#standing
  }

  get coach(): boolean {
    return this.#who?.role === 'coach'
  }

  /** Coach or analyst. */
  get staff(): boolean {
    return this.#who?.role === 'coach' || this.#who?.role === 'analyst'
  }

  get player(): boolean {
    return this.#who?.role === 'player'
  }

  /** Signs the page out by itself when the server says 401 to anything. Returns the way to stop. */
  start(): () => void {
    return onReach((r) => {
      if (r === 'signed-out' && this.#standing === 'in') this.is(null)
    })
  }

  /** Asks the server who is signed in. Never throws. */
  async load(): Promise<void> {
    try {
      this.is(await people.me())
    } catch (err) {
      if (err instanceof ApiError && err.signedOut) this.is(null)
      else if (this.#standing === 'unknown') this.#standing = 'unreachable'
    }
  }

  /** Somebody has signed in (or out: null). */
  is(who: Me | null): void {
    this.#who = who
    this.#standing = who ? 'in' : 'out'
  }

  async signOut(): Promise<void> {
    await people.signOut()
    this.is(null)
  }
}

export const me = new Myself()
