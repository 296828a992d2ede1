/**
 * Two people changed the vocabulary from the same edition: what one meant, put over what the other has saved. Pure.
 * Groups and terms are known by their keys, which never change.
 */
import type { Group, Term, Vocabulary } from '../api/types'

/** `mine`, which was made from `base`, as a change of `theirs`, which was made from `base` too. Mine wins where both differ. */
export function rebase(base: Vocabulary, mine: Vocabulary, theirs: Vocabulary): Vocabulary {
  return { number: theirs.number, groups: rebaseList(base.groups, mine.groups, theirs.groups, rebaseGroup) }
}

type Keyed = { key: string }

function rebaseGroup(base: Group | undefined, mine: Group, theirs: Group): Group {
  return {
    ...pick(base, mine, theirs, ['name', 'press', 'many', 'ordered', 'retired']),
    key: mine.key,
    terms: rebaseList(base?.terms ?? [], mine.terms, theirs.terms, rebaseTerm),
  }
}

function rebaseTerm(base: Term | undefined, mine: Term, theirs: Term): Term {
  return { ...pick(base, mine, theirs, ['name', 'press', 'retired']), key: mine.key }
}

/** Field by field: mine where I changed it, else theirs. */
function pick<T extends object, K extends keyof T>(base: T | undefined, mine: T, theirs: T, fields: K[]): Pick<T, K> {
  const out = {} as Pick<T, K>
  for (const f of fields) out[f] = base && mine[f] === base[f] ? theirs[f] : mine[f]
  return out
}

function rebaseList<T extends Keyed>(
  base: readonly T[],
  mine: readonly T[],
  theirs: readonly T[],
  one: (base: T | undefined, mine: T, theirs: T) => T,
): T[] {
  const of = (list: readonly T[]) => new Map(list.map((x) => [x.key, x]))
  const [inBase, inMine, inTheirs] = [of(base), of(mine), of(theirs)]
  const both = (x: T): T => {
    const [m, t] = [inMine.get(x.key), inTheirs.get(x.key)]
    return m && t ? one(inBase.get(x.key), m, t) : (m ?? t ?? x)
  }
  // The order is mine if I moved anything, else theirs; what only the other has follows its neighbour there.
  const keys = (list: readonly T[]) => list.filter((x) => inBase.has(x.key)).map((x) => x.key)
  const iMoved = keys(mine).join() !== base.filter((x) => inMine.has(x.key)).map((x) => x.key).join()
  const [lead, rest] = iMoved ? [mine, theirs] : [theirs, mine]
  return weave(lead, rest).map(both)
}

/** The entries of `lead` in its order, with those that only `rest` has each behind its neighbour of `rest`. */
function weave<T extends Keyed>(lead: readonly T[], rest: readonly T[]): T[] {
  const out = [...lead]
  rest.forEach((x, i) => {
    if (out.some((o) => o.key === x.key)) return
    const before = rest[i - 1]
    const at = before ? out.findIndex((o) => o.key === before.key) : -1
    out.splice(at + 1, 0, x)
  })
  return out
}
