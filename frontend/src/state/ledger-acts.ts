/**
 * What a person does to a ball, as entries for the ledger, and how each is undone. Pure. The ledger is never
 * changed, only added to: a correction supersedes, an undo retracts and says the earlier thing again.
 */
import type { Drawing, Entry, Group, Micros, Observation } from '../api/types'

/** One thing done, with what is needed to undo it. */
export interface Act {
  ball: number
  /** For people: "Pull", "a note". */
  words: string
  entries: Entry[]
  /** What this act put on the ball, by uuid. */
  put: string[]
  /** What it took away. */
  removed: Observation[]
}

export interface When {
  at: Micros | null
  until?: Micros | null
}

/** Who acts, and how new entries are named. */
export interface Hand {
  me: number
  uuid: () => string
}

const mine = (hand: Hand, o: Observation) => o.coder_id === hand.me

/** What I said in a group on this ball. */
export function myTerms(hand: Hand, seen: readonly Observation[], group: string): Observation[] {
  return seen.filter((o) => o.kind === 'term' && o.group === group && mine(hand, o))
}

/** Puts a term on a ball; the same term again takes it back. */
export function term(hand: Hand, seen: readonly Observation[], ball: number, group: Group, key: string, when: When): Act {
  const there = myTerms(hand, seen, group.key)
  const same = there.filter((o) => o.term === key)
  const words = group.terms.find((t) => t.key === key)?.name ?? key
  if (same.length > 0 && when.until == null) return takeBack(hand, ball, words, same)
  const entry: Entry = { uuid: hand.uuid(), ball_id: ball, kind: 'term', group: group.key, term: key, at_us: when.at }
  if (when.until != null && when.at !== null && when.until > when.at) entry.until_us = when.until
  // A span on a term that holds already replaces its moment; a group of one gives up what it had.
  const removed = group.many ? same : there
  const retractions = group.many ? same.map((o) => retraction(hand, o)) : []
  return { ball, words, entries: [...retractions, entry], put: [entry.uuid], removed }
}

/** Takes my observations back. */
export function takeBack(hand: Hand, ball: number, words: string, what: readonly Observation[]): Act {
  return { ball, words, entries: what.map((o) => retraction(hand, o)), put: [], removed: [...what] }
}

/** Writes a note, or corrects one of mine. */
export function note(hand: Hand, ball: number, body: string, at: Micros | null, corrects?: Observation): Act {
  const entry: Entry = { uuid: hand.uuid(), ball_id: ball, kind: 'note', body: body.trim(), at_us: corrects?.at_us ?? at }
  if (corrects) entry.retracts = corrects.uuid
  return { ball, words: 'a note', entries: [entry], put: [entry.uuid], removed: corrects ? [corrects] : [] }
}

/** Keeps a drawing, in place of an earlier one of mine if given. */
export function drawing(hand: Hand, ball: number, d: Drawing, at: Micros, recording: number, replaces?: Observation): Act {
  const entry: Entry = { uuid: hand.uuid(), ball_id: ball, kind: 'drawing', drawing: d, at_us: at, recording_id: recording }
  return {
    ball,
    words: 'a drawing',
    entries: [...(replaces ? [retraction(hand, replaces)] : []), entry],
    put: [entry.uuid],
    removed: replaces ? [replaces] : [],
  }
}

/** Undoes an act: what it put is retracted, what it took away is said again under a new uuid. */
export function undo(hand: Hand, act: Act): { entries: Entry[]; again: Map<string, string> } {
  const entries: Entry[] = act.put.map((uuid) => ({ uuid: hand.uuid(), ball_id: act.ball, kind: 'retraction', retracts: uuid }))
  const again = new Map<string, string>()
  for (const o of act.removed) {
    const entry = sayAgain(hand, o)
    again.set(o.uuid, entry.uuid)
    entries.push(entry)
  }
  return { entries, again }
}

/** The acts that are left after an undo speak of the new uuids. */
export function renamed(acts: readonly Act[], again: ReadonlyMap<string, string>): Act[] {
  const now = (uuid: string) => again.get(uuid) ?? uuid
  return acts.map((a) => ({ ...a, put: a.put.map(now), removed: a.removed.map((o) => ({ ...o, uuid: now(o.uuid) })) }))
}

function retraction(hand: Hand, o: Observation): Entry {
  return { uuid: hand.uuid(), ball_id: o.ball_id, kind: 'retraction', retracts: o.uuid }
}

function sayAgain(hand: Hand, o: Observation): Entry {
  const e: Entry = { uuid: hand.uuid(), ball_id: o.ball_id, kind: o.kind, at_us: o.at_us }
  if (o.until_us !== null) e.until_us = o.until_us
  if (o.kind === 'term') return { ...e, group: o.group, term: o.term }
  if (o.kind === 'note') return { ...e, body: o.body }
  return { ...e, drawing: o.drawing, recording_id: o.recording_id }
}

/** What an entry will look like once the server has it. */
export interface Wording {
  me: number
  name: string
  /** Whether several terms of a group may hold. */
  many(group: string): boolean
  /** A term's name. */
  term(group: string, term: string): string
}

/**
 * What holds on a ball once the entries, all of them by `w.me`, have been added: the server's rules, so that the page
 * need not wait for it.
 */
export function holding(seen: readonly Observation[], entries: readonly Entry[], w: Wording): Observation[] {
  let now = [...seen]
  // They go to the server in order: when it shows one of them, it has all before it too.
  const present = new Set(now.map((o) => o.uuid))
  const known = entries.findLastIndex((e) => present.has(e.uuid))
  for (const e of entries.slice(known + 1)) {
    if (e.retracts) now = now.filter((o) => o.uuid !== e.retracts || o.coder_id !== w.me)
    if (e.kind === 'retraction') continue
    if (e.kind === 'term' && !w.many(e.group ?? '')) {
      now = now.filter((o) => !(o.kind === 'term' && o.group === e.group && o.coder_id === w.me))
    }
    now.push(observation(e, e.kind, w))
  }
  return now
}

function observation(e: Entry, kind: Observation['kind'], w: Wording): Observation {
  const isTerm = kind === 'term'
  return {
    id: 0,
    uuid: e.uuid,
    ball_id: e.ball_id,
    coder_id: w.me,
    coder: w.name,
    kind,
    at_us: e.at_us ?? null,
    until_us: e.until_us ?? null,
    group: e.group ?? '',
    term: e.term ?? '',
    wording: isTerm ? w.term(e.group ?? '', e.term ?? '') : '',
    edition: 0,
    body: e.body ?? '',
    drawing: e.drawing ?? null,
    recording_id: e.recording_id ?? null,
    made: '',
  }
}
