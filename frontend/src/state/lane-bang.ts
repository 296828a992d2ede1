/** Two recordings on one clock by hand: the same bang picked on both. Pure; times in µs on the session clock. */
import type { Recording } from '../api/types'

/** Metres a second in dry air at 20 °C; from memory, the same as media/align's. */
const SPEED_OF_SOUND = 343

/** By how much sound from so many metres away is late, µs. */
export const late = (metres: number | null): number => ((metres ?? 0) / SPEED_OF_SOUND) * 1e6

/** One moment picked on one recording. */
export interface Bang {
  recording: number
  at: number
}

/** A recording's clock from now on: `theirs` is moved so that its bang falls on `ours`, each heard where its camera stands. */
export function laidOn(first: Recording, ours: Bang, second: Recording, theirs: Bang): number {
  // Where only one distance is typed nothing can be taken off.
  const known = first.metres !== null && second.metres !== null
  const travel = known ? late(first.metres) - late(second.metres) : 0
  return Math.round(second.offset_us + (ours.at - theirs.at) - travel)
}

/** The loudest sample of a curve near a moment: a press means the bang beside it. */
export function loudest(values: Uint8Array, step: number, offset: number, at: number, reach: number): number {
  const from = Math.max(0, Math.ceil((at - reach - offset) / step))
  const to = Math.min(values.length - 1, Math.floor((at + reach - offset) / step))
  let best = -1
  for (let i = from; i <= to; i++) if (best < 0 || values[i]! > values[best]!) best = i
  return best < 0 || values[best] === 0 ? at : Math.round(offset + best * step)
}

/** Whether two of a session's recordings may show the same moment: one camera films one thing at a time, there may be several others. */
const several = (recordings: readonly Recording[]): boolean =>
  new Set(recordings.map((r) => r.camera)).size > 1 || recordings.filter((r) => r.camera === 'other').length > 1

/** The recordings that neither sound nor a person has laid on the others, where that could be done and was not. */
export const guessed = (recordings: readonly Recording[]): Recording[] =>
  several(recordings) && recordings.some((r) => r.clock_note !== '' || (r.duration_us !== null && !r.has_sound))
    ? recordings.filter((r) => r.duration_us !== null && r.clock_by === 'guess')
    : []
