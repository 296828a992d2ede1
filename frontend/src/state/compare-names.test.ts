import { expect, test } from 'vitest'
import type { Vocabulary } from '../api/types'
import { sideNames } from './compare-names'

const term = (key: string, name: string) => ({ key, name, press: '1', retired: false })
const vocabulary: Vocabulary = {
  number: 1,
  groups: [{ key: 'base', name: 'Base', press: 'a', many: false, ordered: false, retired: false, terms: [term('narrow', 'Narrow'), term('sound', 'Sound')] }],
}
const names = () => undefined

test('sides are called by what tells them apart', () => {
  expect(sideNames('base=narrow&session=3', 'session=3&base=sound', vocabulary, names)).toEqual(['with “Base: Narrow”', 'with “Base: Sound”'])
})
test('a side that asks nothing of its own is called by its place', () => {
  expect(sideNames('base=narrow&session=3', 'session=3', vocabulary, names)).toEqual(['with “Base: Narrow”', 'in the second set'])
  expect(sideNames('', '', null, names)).toEqual(['in the first set', 'in the second set'])
})
test('a long name is cut', () => {
  const long = sideNames(`text=${'a'.repeat(200)}`, '', null, names)[0]
  expect(long.length).toBeLessThan(120)
})
