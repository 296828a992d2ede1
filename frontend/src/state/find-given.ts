/**
 * What a found ball's block says of what was asked: in the groups that a block gives, where nobody spoke of them on the
 * ball itself. The server finds by it; the card says so. Pure.
 */
import type { Observation, Vocabulary } from '../api/types'

const GROUPS = ['bowling', 'feed', 'bat']

/** "Off spin"; "Fast or Medium" where several were asked for: the block says one of them. */
export function givenByBlock(asked: Record<string, string[]>, seen: readonly Observation[], vocabulary: Vocabulary | null): string[] {
  return GROUPS.flatMap((g) => {
    const terms = asked[g]
    if (!terms?.length || seen.some((o) => o.kind === 'term' && o.group === g)) return []
    const group = vocabulary?.groups.find((x) => x.key === g)
    return [terms.map((t) => group?.terms.find((x) => x.key === t)?.name ?? t).join(' or ')]
  })
}
