/** What two balls may be lined up at, and what was measured of one. Pure. */
import type { Ball, Measured } from '../api/types'

/** Something that happened in both, with its moments on their sessions' clocks. */
export interface PairEvent {
  key: string
  name: string
  left: number
  right: number
}

/** The events of two balls, the best first: contact, then terms with a time that both have, then their beginnings. */
export function eventsOf(left: Ball, right: Ball): PairEvent[] {
  const events: PairEvent[] = []
  if (left.contact_us !== null && right.contact_us !== null)
    events.push({ key: 'contact', name: 'Contact', left: left.contact_us, right: right.contact_us })
  for (const o of left.seen) {
    const key = `${o.group}=${o.term}`
    const other = right.seen.find((p) => p.kind === 'term' && p.group === o.group && p.term === o.term && p.at_us !== null)
    if (o.kind !== 'term' || o.at_us === null || other?.at_us == null || events.some((e) => e.key === key)) continue
    events.push({ key, name: o.wording, left: o.at_us, right: other.at_us })
  }
  events.push({ key: 'start', name: 'Start of the ball', left: left.start_us, right: right.start_us })
  return events
}

/** Which of two balls has no contact, in words; "" when both have. */
export function withoutContact(left: Ball, right: Ball): string {
  const none = [left, right].flatMap((b, i) => (b.contact_us === null ? [`${i === 0 ? 'the left' : 'the right'} ball`] : []))
  if (none.length === 0) return ''
  return `No contact is known of ${none.join(' and ')}: lined up otherwise. Move the right clip by frames until both show the same.`
}

/** What was measured, each measure once: off the picture that is shown where it was read there, else the surest. */
export function measuredOn(ball: Pick<Ball, 'measured'>, recording: number | undefined): Measured[] {
  const found = new Map<string, Measured>()
  for (const m of ball.measured) {
    const known = found.get(m.measure)
    if (!known || (m.recording_id === recording && known.recording_id !== recording)) found.set(m.measure, m)
  }
  return [...found.values()]
}
