/** The question being asked, what it finds, and which balls are chosen. The question itself lives in the address. */
import * as balls from '../api/balls'
import type { Facet, PlaylistItem } from '../api/types'
import { parseQuestion, printQuestion, type Question } from './question'

export const PAGE = 60

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
  const n = (side: Record<string, string[]>) => Object.values(side).reduce((sum, v) => sum + v.length, 0)
  return n(q.has) + n(q.not) + q.uncoded.length + [q.from, q.to, q.text].filter(Boolean).length
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

  readonly printed = $derived(printQuestion(this.question))
  readonly more = $derived(this.items.length < this.total)

  /** Asks what the address says. */
  async ask(query: URLSearchParams): Promise<void> {
    this.question = parseQuestion(query)
    await this.#fetch(0)
  }

  /** Asks again, for news; as many balls as are shown. */
  again(): Promise<void> {
    return this.#fetch(0, Math.max(PAGE, this.items.length))
  }

  async next(): Promise<void> {
    if (this.more && !this.busy) await this.#fetch(this.items.length)
  }

  async #fetch(offset: number, limit = PAGE): Promise<void> {
    this.#going?.abort()
    const going = (this.#going = new AbortController())
    this.busy = true
    try {
      const found = await balls.find(new URLSearchParams(this.printed), offset, Math.min(limit, 200), going.signal)
      const known = new Set(offset > 0 ? this.items.map((i) => i.ball.id) : [])
      this.items = offset > 0 ? [...this.items, ...found.items.filter((i) => !known.has(i.ball.id))] : found.items
      this.facets = found.facets
      this.total = found.total
      this.problem = null
      this.asked = true
    } catch (err) {
      if (!going.signal.aborted) this.problem = err
    } finally {
      if (this.#going === going) this.busy = false
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
