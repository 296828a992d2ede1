/** The filters of a question one by one, each in words and with the question that is left without it. Pure. */
import type { Vocabulary } from '../api/types'
import { choose, toggleUncoded } from './find-desk.svelte'
import { parseQuestion, questionWords, type Question } from './question'

export interface FilterChip {
  /** Tells it from the others. */
  key: string
  text: string
  /** Asks that something was not seen. */
  not: boolean
  rest: Question
}

function withoutBalls(q: Question): Question {
  const { ball: _, ...has } = q.has
  return { ...q, has }
}

export function chipsOf(q: Question, vocabulary: Vocabulary | null, names: (filter: string, value: string) => string | undefined): FilterChip[] {
  const none = parseQuestion('')
  const chip = (key: string, alone: Partial<Question>, rest: Question, not = false): FilterChip => ({
    key,
    text: questionWords({ ...none, ...alone }, vocabulary, names),
    not,
    rest,
  })
  const side = (which: 'has' | 'not') =>
    Object.entries(q[which]).flatMap(([f, values]) =>
      // Balls that were counted are one filter: nobody takes them back one by one.
      f === 'ball'
        ? [chip('has ball', { has: { ball: values } }, withoutBalls(q))]
        : values.map((v) => chip(`${which} ${f} ${v}`, { [which]: { [f]: [v] } }, choose(q, f, v, which), which === 'not')),
    )
  return [
    ...side('has'),
    ...side('not'),
    ...q.uncoded.map((g) => chip(`uncoded ${g}`, { uncoded: [g] }, toggleUncoded(q, g), true)),
    ...Object.entries(q.measured).map(([m, range]) => {
      const { [m]: _, ...measured } = q.measured
      return chip(`measured ${m}`, { measured: { [m]: range } }, { ...q, measured })
    }),
    ...(['from', 'to', 'text', 'sort'] as const).flatMap((k) => (q[k] ? [chip(k, { [k]: q[k] }, { ...q, [k]: '' })] : [])),
  ]
}
