/** How two questions are called beside each other: by what tells them apart. Pure. */
import type { Vocabulary } from '../api/types'
import { parseQuestion, questionWords, type Question } from './question'

const same = (a: readonly string[] | undefined, b: readonly string[] | undefined) => [...(a ?? [])].sort().join() === [...(b ?? [])].sort().join()

/** What `q` asks that `other` does not ask just so. */
function own(q: Question, other: Question): Question {
  const less = (mine: Record<string, string[]>, theirs: Record<string, string[]>) =>
    Object.fromEntries(Object.entries(mine).filter(([key, values]) => !same(values, theirs[key])))
  return {
    has: less(q.has, other.has),
    not: less(q.not, other.not),
    uncoded: q.uncoded.filter((g) => !other.uncoded.includes(g)),
    from: q.from === other.from ? '' : q.from,
    to: q.to === other.to ? '' : q.to,
    text: q.text === other.text ? '' : q.text,
    measured: Object.fromEntries(Object.entries(q.measured).filter(([measure, range]) => other.measured[measure] !== range)),
    sort: '', // says nothing of which balls
  }
}

type Names = (filter: string, value: string) => string | undefined
const short = (s: string) => (s.length > 90 ? `${s.slice(0, 87)}…` : s)

/** The two names, to be read in a sentence: "with Base: Narrow". */
export function sideNames(left: string, right: string, vocabulary: Vocabulary | null, names: Names): [string, string] {
  const [a, b] = [parseQuestion(left), parseQuestion(right)]
  const nothing = parseQuestion('')
  const name = (q: Question, fallback: string) => {
    const words = questionWords(q, vocabulary, names)
    return words === questionWords(nothing, vocabulary, names) ? fallback : `with “${short(words)}”`
  }
  return [name(own(a, b), 'in the first set'), name(own(b, a), 'in the second set')]
}

/** Pairs that coaches ask for, to begin with: two terms of one group. */
export const PAIRS: readonly (readonly [group: string, a: string, b: string])[] = [
  ['base', 'narrow', 'sound'],
  ['bat', 'narrow', 'full'],
  ['feed', 'machine', 'bowler'],
  ['feet', 'forward', 'back'],
  ['balance', 'falling-off', 'balanced'],
]
