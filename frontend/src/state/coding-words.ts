/** What was seen on a ball, put into words for the coding page. Pure. */
import type { Entry, Group, Observation } from '../api/types'
import { clock } from '../time/time'

/** What a group has on a ball. */
export interface Summary {
  mine: string[]
  /** By the ball's block, where nobody saw otherwise. */
  given: string
  /** By others: "Ben: Full". */
  others: string[]
}

export function summary(
  g: Group,
  seen: readonly Observation[],
  isMine: (o: Observation) => boolean,
  given: ReadonlyMap<string, string>,
): Summary {
  const terms = seen.filter((o) => o.kind === 'term' && o.group === g.key)
  const mine = terms.filter(isMine).map((o) => o.wording)
  const said = given.get(g.key)
  return {
    mine,
    given: said && mine.length === 0 ? (g.terms.find((t) => t.key === said)?.name ?? said) : '',
    others: terms.filter((o) => !isMine(o)).map((o) => `${o.coder}: ${o.wording}`),
  }
}

/** When an observation was made, since the ball's start: "0:01.2", "0:01.2 to 0:02.0", "" for the ball as a whole. */
export function timeWords(o: Pick<Observation, 'at_us' | 'until_us'>, start: number): string {
  if (o.at_us === null) return ''
  const from = clock(o.at_us - start, 1)
  return o.until_us === null ? from : `${from} to ${clock(o.until_us - start, 1)}`
}

/** What an entry says, for somebody who must decide about it. */
export function entryWords(e: Entry, nameOf: (group: string, term: string) => string): string {
  if (e.kind === 'term') return nameOf(e.group ?? '', e.term ?? '')
  if (e.kind === 'note') return `Note: “${(e.body ?? '').slice(0, 60)}${(e.body ?? '').length > 60 ? '…' : ''}”`
  return e.kind === 'drawing' ? 'A drawing' : 'Taking something back'
}

/** Ascending by time; what is of the ball as a whole comes first. */
export function byTime(seen: readonly Observation[]): Observation[] {
  return seen.toSorted((a, b) => (a.at_us ?? -Infinity) - (b.at_us ?? -Infinity))
}
