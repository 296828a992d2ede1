/** What the watch page shows of a ball at a moment, and which way a finger went. Pure. */
import type { Observation, PlaylistItem } from '../api/types'

/** Words for the player, in the order in which they come. */
export interface Word {
  uuid: string
  kind: 'term' | 'note'
  text: string
  coder: string
  at: number | null
}

/** The terms and notes of a ball; the same term seen by two people is said once, at the earlier time. */
export function wordsOf(seen: readonly Observation[]): Word[] {
  const words = new Map<string, Word>()
  const early = (a: number | null) => a ?? -Infinity
  for (const o of seen) {
    if (o.kind !== 'term' && o.kind !== 'note') continue
    const word: Word = { uuid: o.uuid, kind: o.kind, text: o.kind === 'term' ? o.wording : o.body, coder: o.coder, at: o.at_us }
    const key = o.kind === 'term' ? `${o.group}:${o.term}` : o.uuid
    const known = words.get(key)
    if (!known || early(word.at) < early(known.at)) words.set(key, word)
  }
  return [...words.values()].sort((a, b) => early(a.at) - early(b.at))
}

/** The words whose time has come: those of the ball as a whole, and those at or before the moment on display. */
export function due(words: readonly Word[], session: number): Word[] {
  return words.filter((w) => w.at === null || w.at <= session)
}

/** How far a finger must go for a swipe, CSS pixels. */
const SWIPE = 56

/** Which way a finger went: 1 to the next ball (leftwards), -1 to the one before, 0 when it was no swipe. */
export function swipe(dx: number, dy: number): -1 | 0 | 1 {
  if (Math.abs(dx) < SWIPE || Math.abs(dx) < 1.5 * Math.abs(dy)) return 0
  return dx < 0 ? 1 : -1
}

/** What stands over a ball: its own title, or what it is. */
export function titleOf(item: PlaylistItem): string {
  return item.title || [item.block, `ball ${item.ball.number}`].filter(Boolean).join(', ')
}

/** The clip to show of a ball: from the camera that was chosen, else the first that can be shown, else the first. */
export function clipOf(item: Pick<PlaylistItem, 'ball'> | undefined, camera: string | null) {
  const clips = item?.ball.clips ?? []
  return clips.find((c) => c.camera === camera && c.file) ?? clips.find((c) => c.file) ?? clips[0] ?? null
}
