/** Which points a person likes to put on, kept on this device. */
import { SETS, type SetName } from './measure-parts'

const KEY = 'netreel.measure'

export function readSets(): ReadonlySet<SetName> {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? '["head"]') as unknown
    if (Array.isArray(kept)) return new Set(kept.filter((n): n is SetName => typeof n === 'string' && n in SETS))
  } catch {
    // Nothing kept, or nothing readable.
  }
  return new Set(['head'])
}

export function keepSets(sets: ReadonlySet<SetName>): void {
  try {
    localStorage.setItem(KEY, JSON.stringify([...sets]))
  } catch {
    // Storage may be switched off: the choice holds until the page is closed.
  }
}
