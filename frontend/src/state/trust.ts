/** Which terms' counts may be built on, by second looks: words to put beside a figure. Pure. */
import type { Agreement } from '../api/types'

/** The groups that a rate of the look-back is made of. */
const madeOf: Record<string, readonly string[]> = {
  'control-faced': ['contact'],
  'control-played': ['contact'],
  effective: ['contact', 'result'],
  'right-decision': ['decision'],
  'right-by-rule': ['height', 'line', 'length', 'shot'],
}

/** What to say beside figures of these groups; '' when second looks give no reason to doubt them, or there are none. */
export function doubtOf(agreement: Agreement | null, groups: readonly string[]): string {
  const doubted = (agreement?.groups ?? []).flatMap((g) => {
    const terms = groups.includes(g.key) ? g.terms.filter((t) => t.trust === 'untrusted') : []
    return terms.length > 0 ? [`${g.name}: ${terms.map((t) => t.name).join(', ')}`] : []
  })
  return doubted.length > 0 ? `Not to be trusted: in second looks, coders did not see the same. ${doubted.join('. ')}.` : ''
}

export const doubtOfRate = (agreement: Agreement | null, rate: string): string => doubtOf(agreement, madeOf[rate] ?? [])
