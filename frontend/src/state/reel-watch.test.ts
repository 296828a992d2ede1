import { describe, expect, test } from 'vitest'
import type { Observation, PlaylistItem } from '../api/types'
import { clipOf, due, swipe, titleOf, wordsOf } from './reel-watch'

const seen = (o: Partial<Observation>): Observation => ({
  id: 1, uuid: String(Math.random()), ball_id: 1, coder_id: 1, coder: 'Ada', kind: 'term', at_us: null, until_us: null,
  group: 'shot', term: 'pull', wording: 'Pull', edition: 1, body: '', drawing: null, recording_id: null, made: '', ...o,
})

describe('words of a ball', () => {
  test('a term that two people saw is said once, at the earlier time', () => {
    const words = wordsOf([seen({ at_us: 900, coder: 'Ben' }), seen({ at_us: 400 }), seen({ kind: 'note', body: 'Late', at_us: 500 })])
    expect(words.map((w) => [w.text, w.at])).toEqual([['Pull', 400], ['Late', 500]])
  })
  test('drawings are no words', () => expect(wordsOf([seen({ kind: 'drawing' })])).toEqual([]))
  test('come when their time has come', () => {
    const words = wordsOf([seen({ at_us: 400 }), seen({ term: 'late', wording: 'Late' }), seen({ term: 'cut', wording: 'Cut', at_us: 800 })])
    expect(due(words, 399).map((w) => w.text)).toEqual(['Late'])
    expect(due(words, 400).map((w) => w.text)).toEqual(['Late', 'Pull'])
    expect(due(words, 9_000)).toHaveLength(3)
  })
})

test.each([
  [-80, 5, 1],
  [80, -5, -1],
  [-40, 0, 0],
  [-80, 70, 0],
])('a finger that went %i, %i', (dx, dy, want) => expect(swipe(dx, dy)).toBe(want))

test('a ball without a title says what it is', () => {
  const item = { title: '', block: 'Short ball', ball: { number: 12 } } as PlaylistItem
  expect(titleOf(item)).toBe('Short ball, ball 12')
  expect(titleOf({ ...item, title: 'Base set early' })).toBe('Base set early')
  expect(titleOf({ ...item, block: '' })).toBe('ball 12')
})

test('the chosen camera is kept where it has a file', () => {
  const clip = (camera: string, file: unknown) => ({ camera, file })
  const item = (clips: unknown[]) => ({ ball: { clips } }) as unknown as PlaylistItem
  const side = clip('side-on', {})
  const arm = clip('behind-the-arm', {})
  expect(clipOf(item([side, arm]), 'behind-the-arm')).toBe(arm)
  expect(clipOf(item([clip('other', null), side]), null)).toBe(side)
  expect(clipOf(item([]), null)).toBeNull()
  expect(clipOf(undefined, null)).toBeNull()
})
