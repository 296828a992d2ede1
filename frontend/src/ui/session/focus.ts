/** The groups that a session's coding page walks through, in order. */
import type { Session, Vocabulary } from '../../api/types'

export const MOST_FOCUS = 9

// What the server gives a session of which nobody has said anything.
const USUAL = ['length', 'shot', 'feet', 'base', 'decision', 'contact']

/** The focus to begin a new session with: as last time, else the usual; only groups that are still in use. */
export function firstFocus(vocabulary: Vocabulary, before: readonly Session[]): string[] {
  const inUse = new Set(vocabulary.groups.filter((g) => !g.retired).map((g) => g.key))
  const last = [...before].sort((a, b) => b.held_on.localeCompare(a.held_on) || b.id - a.id)[0]
  const kept = (last?.focus ?? []).filter((k) => inUse.has(k))
  return kept.length > 0 ? kept : USUAL.filter((k) => inUse.has(k))
}
