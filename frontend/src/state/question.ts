/**
 * A question as the page holds it, both ways: "shot=pull,cut&not.contact=missed&player=3&text=late", and in words.
 * The server's form is the canonical one (tagging/find); this one reads and writes the same language. Pure.
 */
import type { Vocabulary } from '../api/types'
import { day } from '../time/time'

/** Filters that are no groups of the vocabulary, in the order in which people say them. */
export const OTHERS = ['player', 'session', 'block', 'coder', 'ball'] as const
export type Other = (typeof OTHERS)[number]

export interface Question {
  /** Group or other filter -> any of these. */
  has: Record<string, string[]>
  /** Group -> none of these. */
  not: Record<string, string[]>
  /** Groups of which nobody saw a term. */
  uncoded: string[]
  from: string
  to: string
  text: string
  /** Measure -> range of its value: "40..55", "..55", "40.." or "..". */
  measured: Record<string, string>
  /** Measure by which balls are ordered, smallest first; "-" before it: largest first. */
  sort: string
}

const PLAIN = new Set(['from', 'to', 'text', 'uncoded', 'offset', 'limit', 'sort'])
const split = (values: readonly string[]) => [...new Set(values.flatMap((v) => v.split(',')).map((v) => v.trim()))].filter(Boolean)

export function parseQuestion(query: string | URLSearchParams): Question {
  const from = new URLSearchParams(query)
  const q: Question = { has: {}, not: {}, uncoded: split(from.getAll('uncoded')), from: from.get('from') ?? '', to: from.get('to') ?? '', text: from.get('text') ?? '', measured: {}, sort: from.get('sort') ?? '' }
  for (const key of new Set(from.keys())) {
    const values = split(from.getAll(key))
    if (PLAIN.has(key) || values.length === 0) continue
    if (key.startsWith('measured.')) q.measured[key.slice(9)] = values[0]!
    else if (key.startsWith('not.')) q.not[key.slice(4)] = values
    else q.has[key] = values
  }
  return q
}

/** The question as the query of an address; choices in order, so that one question has one address. */
export function printQuestion(q: Question): string {
  const out: [string, string][] = []
  const put = (key: string, values: readonly string[]) => values.length > 0 && out.push([key, [...values].sort().join(',')])
  for (const [k, v] of Object.entries(q.has)) put(k, v)
  for (const [k, v] of Object.entries(q.not)) put(`not.${k}`, v)
  put('uncoded', q.uncoded)
  for (const [k, v] of Object.entries(q.measured)) out.push([`measured.${k}`, v])
  for (const k of ['from', 'to', 'text', 'sort'] as const) if (q[k]) out.push([k, q[k]])
  out.sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0))
  return out.map(([k, v]) => `${encodeURIComponent(k)}=${encodeURIComponent(v).replaceAll('%2C', ',')}`).join('&')
}

/** Balls that were counted or picked have no names worth saying. */
const these = (n: number) => (n === 1 ? 'One ball that was counted' : `${n} balls that were counted`)

/** The ends of a range as they are typed; "" for an open one. */
export function rangeOf(text: string): { low: string; high: string } {
  const [low = '', high = ''] = text.split('..')
  return { low, high }
}

function rangeWords(text: string, unit: string): string {
  const { low, high } = rangeOf(text)
  if (low && high) return `${low} to ${high}${unit}`
  return low ? `${low}${unit} or more` : high ? `${high}${unit} or less` : 'measured'
}

/** A question in words: "Shot: Pull or Cut; Base: Narrow; not Contact: Missed". `names` has those of players and so on, of measures ("measured") and of their units ("unit"). */
export function questionWords(q: Question, vocabulary: Vocabulary | null, names: (filter: string, value: string) => string | undefined): string {
  const term = (g: string, t: string) => vocabulary?.groups.find((x) => x.key === g)?.terms.find((x) => x.key === t)?.name ?? names(g, t) ?? t
  const group = (g: string) => vocabulary?.groups.find((x) => x.key === g)?.name ?? g.charAt(0).toUpperCase() + g.slice(1)
  const parts = [
    ...Object.entries(q.has).map(([g, ts]) => (g === 'ball' ? these(ts.length) : `${group(g)}: ${ts.map((t) => term(g, t)).join(' or ')}`)),
    ...Object.entries(q.not).map(([g, ts]) => `not ${group(g)}: ${ts.map((t) => term(g, t)).join(' or ')}`),
    ...q.uncoded.map((g) => `${group(g)} not coded`),
    q.from && `from ${day(q.from)}`,
    q.to && `until ${day(q.to)}`,
    ...Object.entries(q.measured).map(([m, range]) => `${names('measured', m) ?? m} ${rangeWords(range, names('unit', m) ?? '')}`),
    q.text && `notes with “${q.text}”`,
    q.sort && `${names('measured', q.sort.replace('-', '')) ?? q.sort} ${q.sort.startsWith('-') ? 'from the largest' : 'from the smallest'}`,
  ].filter(Boolean)
  return parts.join('; ') || 'Every ball'
}
