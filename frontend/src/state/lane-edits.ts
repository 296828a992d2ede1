/** Changes of the lane, as the wanted states of balls. Pure: a list of balls in, edits out; [] when there is nothing to do. */
import type { BallEdit, LaneBall } from '../api/types'
import { clamp } from '../time/span'

/** A ball's shortest and longest, µs: the server's limits. */
export const SHORTEST = 200_000
export const LONGEST = 60_000_000

/** Where a ball added at a moment begins and ends around it. */
const BEFORE = 2_000_000
const AFTER = 1_500_000

const edit = (b: LaneBall, part: Partial<BallEdit> = {}): BallEdit => ({
  id: b.id,
  revision: b.revision,
  start_us: b.start_us,
  contact_us: b.contact_us,
  end_us: b.end_us,
  state: b.state,
  batter_id: b.batter_id,
  ...part,
})

/** A contact that no longer lies in the ball is none. */
const within = (contact: number | null | undefined, start: number, end: number): number | null =>
  contact != null && contact >= start && contact <= end ? contact : null

/** Touching a ball is accepting it: somebody has looked. */
const looked = (b: LaneBall): BallEdit['state'] => (b.state === 'discarded' ? 'discarded' : 'accepted')

export function add(at: number, end = at + AFTER, start = at - BEFORE): BallEdit[] {
  const from = Math.max(0, start)
  return [{ start_us: from, contact_us: null, end_us: clamp(end, from + SHORTEST, from + LONGEST), state: 'accepted' }]
}

export function moveEdge(b: LaneBall, edge: 'start' | 'end', to: number): BallEdit[] {
  const start = edge === 'start' ? clamp(to, Math.max(0, b.end_us - LONGEST), b.end_us - SHORTEST) : b.start_us
  const end = edge === 'end' ? clamp(to, b.start_us + SHORTEST, b.start_us + LONGEST) : b.end_us
  if (start === b.start_us && end === b.end_us) return []
  return [edit(b, { start_us: start, end_us: end, contact_us: within(b.contact_us, start, end), state: looked(b) })]
}

/** Sets the contact, or with null says that nothing was struck. */
export function setContact(b: LaneBall, at: number | null): BallEdit[] {
  const contact = at === null ? null : clamp(at, b.start_us, b.end_us)
  return contact === b.contact_us ? [] : [edit(b, { contact_us: contact, state: looked(b) })]
}

/** Two balls become one: the first grows, the second is discarded. */
export function merge(a: LaneBall, b: LaneBall): BallEdit[] {
  const [first, second] = a.start_us <= b.start_us ? [a, b] : [b, a]
  const end = Math.max(first.end_us, second.end_us)
  if (end - first.start_us > LONGEST) return []
  return [edit(first, { end_us: end, contact_us: first.contact_us ?? second.contact_us, state: 'accepted' }), edit(second, { state: 'discarded' })]
}

/** One ball becomes two at a moment inside it; the contact goes with its side. */
export function split(b: LaneBall, at: number): BallEdit[] {
  if (at - b.start_us < SHORTEST || b.end_us - at < SHORTEST) return []
  return [
    edit(b, { end_us: at, contact_us: b.contact_us !== null && b.contact_us < at ? b.contact_us : null, state: 'accepted' }),
    {
      start_us: at,
      contact_us: b.contact_us !== null && b.contact_us >= at ? b.contact_us : null,
      end_us: b.end_us,
      state: 'accepted',
      batter_id: b.batter_id,
    },
  ]
}

export const setState = (balls: readonly LaneBall[], state: LaneBall['state']): BallEdit[] =>
  balls.filter((b) => b.state !== state).map((b) => edit(b, { state }))

export const setBatter = (b: LaneBall, batter: number | null): BallEdit[] => (b.batter_id === batter ? [] : [edit(b, { batter_id: batter })])

/** A change that was made: the balls as they were (null: there was none) and as they are. */
export interface Step {
  before: (LaneBall | null)[]
  after: LaneBall[]
}

/** The change of a step that was made by these edits and answered with these balls. */
export function stepOf(edits: readonly BallEdit[], was: readonly LaneBall[], answer: readonly LaneBall[]): Step {
  return { before: edits.map((e) => was.find((b) => b.id === e.id) ?? null), after: [...answer] }
}

/** The edits that undo a step (a ball that was added is discarded), or make it again. */
export function undoing(s: Step, now: readonly LaneBall[], which: 'undo' | 'redo'): BallEdit[] {
  return s.after.map((after, i) => {
    const ball = now.find((b) => b.id === after.id) ?? after
    const wanted = which === 'redo' ? after : s.before[i]
    if (!wanted) return edit(ball, { state: 'discarded' })
    return { ...edit(wanted), revision: ball.revision }
  })
}

/** Balls with the answered ones in their place, by start. */
export function merged(balls: readonly LaneBall[], answer: readonly LaneBall[]): LaneBall[] {
  const ids = new Set(answer.map((b) => b.id))
  return [...balls.filter((b) => !ids.has(b.id)), ...answer].sort((a, b) => a.start_us - b.start_us || a.id - b.id)
}

/** Balls as they will be when these edits are taken, shown until the answer is there. New balls come with the answer. */
export function expected(balls: readonly LaneBall[], edits: readonly BallEdit[]): LaneBall[] {
  return merged(
    balls,
    edits.flatMap((e) => {
      const b = balls.find((x) => x.id === e.id)
      if (!b) return []
      return [{ ...b, start_us: e.start_us, end_us: e.end_us, contact_us: e.contact_us ?? null, state: e.state, batter_id: e.batter_id ?? null }]
    }),
  )
}

/** Below this the split asks to be looked over. */
export const SURE = 0.75

/** A proposal that somebody should look at. */
export const unsure = (b: LaneBall): boolean => b.state === 'proposed' && b.confidence < SURE

/** Whether the bat was hit, as the split guesses it of a ball that nobody has looked at; '' when it can't tell. */
export function struckWords(b: LaneBall): string {
  if (b.state !== 'proposed' || b.struck === null || (b.struck > 0.35 && b.struck < 0.65)) return ''
  return b.struck >= 0.65 ? 'struck?' : 'not struck?'
}

/** The first ball after a moment that fits, else the first of all. */
export function nextAfter(balls: readonly LaneBall[], t: number, fits: (b: LaneBall) => boolean): LaneBall | undefined {
  return balls.find((b) => b.start_us > t && fits(b)) ?? balls.find(fits)
}
