import { expect, test } from 'vitest'
import type { Vocabulary } from '../api/types'
import { chipsOf } from './find-chips'
import { filterCount } from './find-desk.svelte'
import { parseQuestion, printQuestion } from './question'

const term = (key: string, name: string) => ({ key, name, press: '1', retired: false })
const vocabulary: Vocabulary = {
  number: 1,
  groups: [{ key: 'shot', name: 'Shot', press: 's', many: false, ordered: false, retired: false, terms: [term('pull', 'Pull'), term('cut', 'Cut')] }],
}
const names = (f: string, v: string) => (f === 'player' && v === '3' ? 'Suri Tolland' : undefined)
const all = parseQuestion('shot=pull,cut&player=3&not.shot=hook&uncoded=feet&from=2026-01-31&text=late')

test('each filter is a chip of its own, in words', () => {
  expect(chipsOf(all, vocabulary, names).map((c) => c.text)).toEqual([
    'Shot: Pull', 'Shot: Cut', 'Player: Suri Tolland', 'not Shot: hook', 'Feet not coded', 'from Sat 31 Jan 2026', 'notes with “late”',
  ])
})
test('a chip taken away leaves the others', () => {
  const chips = chipsOf(all, vocabulary, names)
  expect(printQuestion(chips[0]!.rest)).toBe('from=2026-01-31&not.shot=hook&player=3&shot=cut&text=late&uncoded=feet')
  for (const c of chips) expect(filterCount(c.rest)).toBe(filterCount(all) - 1)
  expect(new Set(chips.map((c) => c.key)).size).toBe(chips.length)
})
test('balls that were counted are one filter', () => {
  const q = parseQuestion('ball=7,8,9&shot=pull')
  const chips = chipsOf(q, vocabulary, names)
  expect(chips.map((c) => c.text)).toEqual(['3 balls that were counted', 'Shot: Pull'])
  expect(printQuestion(chips[0]!.rest)).toBe('shot=pull')
  expect(filterCount(q)).toBe(2)
})
test('all taken away one after the other leave every ball', () => {
  let q = all
  for (let n = filterCount(all); n > 0; n--) q = chipsOf(q, vocabulary, names)[0]!.rest
  expect(printQuestion(q)).toBe('')
})
