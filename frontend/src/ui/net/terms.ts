/** Which terms the buttons at the net have: a coach's own, kept on the phone. */
import type { Vocabulary } from '../../api/types'

export const MOST_TERMS = 4
const KEY = 'netreel.netterms'
const usual = ['base=narrow', 'balance=falling-off', 'decision=late', 'hands=away']

export function chosenTerms(words: Vocabulary | null): string[] {
  let kept: unknown
  try {
    kept = JSON.parse(localStorage.getItem(KEY) ?? 'null')
  } catch {
    kept = null
  }
  const codes = Array.isArray(kept) ? kept.filter((c): c is string => typeof c === 'string') : usual
  return codes.slice(0, MOST_TERMS).filter((code) => {
    const [group, term] = code.split('=')
    return words?.groups.some((g) => g.key === group && !g.retired && g.terms.some((t) => t.key === term && !t.retired))
  })
}

export function keepTerms(codes: readonly string[]): void {
  try {
    localStorage.setItem(KEY, JSON.stringify(codes))
  } catch {
    // they hold until the page is closed
  }
}
