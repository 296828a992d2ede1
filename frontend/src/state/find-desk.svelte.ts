/** The question being asked, what it finds, and which balls are chosen. The question itself lives in the address. */
import * as balls from '../api/balls'
import type { Facet, PlaylistItem } from '../api/types'
import { parseQuestion, printQuestion, type Question } from './question'

export const PAGE = 60
/** As many as the server gives at once. */
const MOST = 200

const without = (list: readonly string[] = [], value: string) => list.filter((v) => v !== value)

/** The question with a choice taken as `has`, as `not`, or, when it stands so already, left out. */
export function choose(q: Question, filter: string, value: string, as: 'has' | 'not'): Question {
  const stood = q[as][filter]?.includes(value) ?? false
  const next: Question = { ...q, has: { ...q.has }, not: { ...q.not } }
  for (const side of ['has', 'not'] as const) {
    const rest = without(q[side][filter], value)
    if (rest.length > 0) next[side][filter] = rest
    else delete next[side][filter]
  }
  if (!stood) next[as][filter] = [...(next[as][filter] ?? []), value]
  return next
}

/** The question with "not coded" for a group on or off. */
export const toggleUncoded = (q: Question, group: string): Question => ({
  ...q,
  uncoded: q.uncoded.includes(group) ? without(q.uncoded, group) : [...q.uncoded, group],
})

/** How many filters a question has. */
export function filterCount(q: Question): number {
  const n = (side: Record<string, string[]>) => Object.entries(side).reduce((sum, [f, v]) => sum + (f === 'ball' ? 1 : v.length), 0)
  return n(q.has) + n(q.not) + q.uncoded.length + Object.keys(q.measured).length + [q.from, q.to, q.text].filter(Boolean).length
}

/** Two pages of balls as one: a ball that has moved from one to the other is there once. */
function joined(first: readonly PlaylistItem[], more: readonly PlaylistItem[]): PlaylistItem[] {
  const known = new Set(first.map((i) => i.ball.id))
  return [...first, ...more.filter((i) => !known.has(i.ball.id))]
}

export class FindDesk {
  question = $state.raw<Question>(parseQuestion(''))
  items = $state.raw<readonly PlaylistItem[]>([])
  facets = $state.raw<readonly Facet[]>([])
  total = $state(0)
  problem = $state.raw<unknown>(null)
  busy = $state(false)
  asked = $state(false)
  /** Ids of the chosen balls, in the order in which they were chosen. */
  chosen = $state.raw<readonly number[]>([])
  #going: AbortController | null = null
  /** There was news while a fetch was on its way. */
  #stale = false

  /** How far down the page was when it was left, for when somebody comes back to the same question. */
  scrolled = 0

  // Plain getters: a desk outlives its page.
  get printed(): string {
    return printQuestion(this.question)
  }

  get more(): boolean {
    return this.items.length < this.total
  }

  /** Asks what the address says; says whether that was being asked already. */
  ask(query: URLSearchParams): boolean {
    const next = parseQuestion(query)
    const same = this.asked && printQuestion(next) === this.printed
    this.question = next
    this.#stale = false
    if (same) void this.again()
    else void this.#fetch(0)
    return same
  }

  /** Asks again, for news; as many balls as are shown. */
  async again(): Promise<void> {
    if (this.busy) {
      this.#stale = true // what is on its way is wanted
      return
    }
    const want = this.items.length
    await this.#fetch(0, Math.min(Math.max(PAGE, want), MOST), want)
  }

  async next(): Promise<void> {
    if (this.more && !this.busy) await this.#fetch(this.items.length)
  }

  /** Fetches balls from an offset on, and further until there are `least`. */
  async #fetch(offset: number, limit = PAGE, least = 0): Promise<void> {
    this.#going?.abort()
    const going = (this.#going = new AbortController())
    this.busy = true
    try {
      const ask = (from: number) => balls.find(new URLSearchParams(this.printed), from, limit, going.signal)
      let found = await ask(offset)
      let items = offset > 0 ? joined(this.items, found.items) : found.items
      while (items.length < Math.min(least, found.total) && found.items.length > 0) {
        found = await ask(items.length)
        items = joined(items, found.items)
      }
      this.items = items
      this.facets = found.facets
      this.total = found.total
      this.problem = null
      this.asked = true
    } catch (err) {
      if (!going.signal.aborted) this.problem = err
    } finally {
      if (this.#going === going) {
        this.busy = false
        if (this.#stale) {
          this.#stale = false
          void this.again()
        }
      }
    }
  }

  toggle(ball: number): void {
    this.chosen = this.chosen.includes(ball) ? this.chosen.filter((b) => b !== ball) : [...this.chosen, ball]
  }

  /** Chooses all that are shown, or none. */
  all(on: boolean): void {
    this.chosen = on ? [...new Set([...this.chosen, ...this.items.map((i) => i.ball.id)])] : []
  }
}

let kept: { account: number; desk: FindDesk } | null = null

/** The desk of whoever is signed in: what was found and chosen is still there when they come back to the page. */
export function deskOf(account: number): FindDesk {
  if (kept?.account !== account) kept = { account, desk: new FindDesk() }
  return kept.desk
}
