/** The way through the groups of the vocabulary: which is open, and which opens next. Pure. */
import type { Block, Group, Observation, Vocabulary } from '../api/types'

/** The groups in the order in which they are walked: first the session's focus, then the others. */
export interface Walk {
  focus: Group[]
  rest: Group[]
}

/** Groups and terms that are offered, without what is retired. */
export function offered(v: Vocabulary): Group[] {
  return v.groups.filter((g) => !g.retired).map((g) => ({ ...g, terms: g.terms.filter((t) => !t.retired) }))
}

export function walkOf(groups: readonly Group[], focus: readonly string[]): Walk {
  const first = focus.flatMap((key) => groups.find((g) => g.key === key) ?? [])
  return { focus: first, rest: groups.filter((g) => !first.includes(g)) }
}

export const inOrder = (w: Walk): Group[] => [...w.focus, ...w.rest]

/** Says of a group whether there is nothing left to do in it. */
export type Done = (group: string) => boolean

/** The group that is open when a ball comes up: the first of the focus that is not done. */
export function opening(w: Walk, done: Done): string {
  const groups = w.focus.length > 0 ? w.focus : w.rest
  return (groups.find((g) => !done(g.key)) ?? groups[0])?.key ?? ''
}

/**
 * The group that opens after a term was put in `key`: the next of the focus that is not done, round once; the same
 * when all are. A group of many stays open, since another term may follow.
 */
export function following(w: Walk, key: string, done: Done): string {
  const group = inOrder(w).find((g) => g.key === key)
  if (!group || group.many) return key
  const at = w.focus.indexOf(group)
  const round = [...w.focus.slice(at + 1), ...w.focus.slice(0, Math.max(0, at))]
  return round.find((g) => !done(g.key))?.key ?? key
}

/** The group before (-1) or after (1) in the whole order, round. */
export function neighbour(w: Walk, key: string, by: 1 | -1): string {
  const all = inOrder(w)
  const at = all.findIndex((g) => g.key === key)
  return all[(at + by + all.length) % all.length]?.key ?? key
}

/** What a block says of all its balls: group key -> term key. */
export function given(block: Block | undefined): ReadonlyMap<string, string> {
  const said = new Map<string, string>()
  if (block?.bowling) said.set('bowling', block.bowling)
  if (block?.feed) said.set('feed', block.feed)
  if (block?.bat) said.set('bat', block.bat)
  return said
}

/** How much of the focus is seen on a ball, by anybody or by its block. */
export type Coded = 'none' | 'some' | 'all'

export function coded(w: Walk, seen: readonly Observation[], said: ReadonlyMap<string, string>): Coded {
  const terms = seen.filter((o) => o.kind === 'term')
  if (terms.length === 0) return 'none'
  const has = (g: Group) => said.has(g.key) || terms.some((o) => o.group === g.key)
  return w.focus.every(has) ? 'all' : 'some'
}
