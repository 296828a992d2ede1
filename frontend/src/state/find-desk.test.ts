import { expect, test } from 'vitest'
import { choose, filterCount, toggleUncoded } from './find-desk.svelte'
import { parseQuestion, printQuestion } from './question'

const after = (query: string, ...steps: [string, string, 'has' | 'not'][]) =>
  printQuestion(steps.reduce((q, [f, v, as]) => choose(q, f, v, as), parseQuestion(query)))

test('pull shots with a narrow base is two presses', () => {
  expect(after('', ['shot', 'pull', 'has'], ['base', 'narrow', 'has'])).toBe('base=narrow&shot=pull')
})
test('a second press takes the choice back', () => expect(after('shot=cut,pull', ['shot', 'pull', 'has'])).toBe('shot=cut'))
test('not takes the place of has', () => {
  expect(after('shot=pull', ['shot', 'pull', 'not'])).toBe('not.shot=pull')
  expect(after('not.shot=pull', ['shot', 'pull', 'has'])).toBe('shot=pull')
  expect(after('not.shot=pull', ['shot', 'pull', 'not'])).toBe('')
})
test('not coded goes on and off', () => {
  const on = toggleUncoded(parseQuestion(''), 'shot')
  expect(printQuestion(on)).toBe('uncoded=shot')
  expect(printQuestion(toggleUncoded(on, 'shot'))).toBe('')
})
test('filters are counted', () => expect(filterCount(parseQuestion('shot=pull,cut&not.base=wide&text=late&uncoded=feet'))).toBe(5))
