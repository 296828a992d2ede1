import { expect, test } from 'vitest'
import type { Measures } from '../api/types'
import { LANDMARKS, type Body, type LandmarkName } from '../pose/landmarks'
import { bones, only, partsOf, SETS, wantedParts } from './measure-parts'

const parts = [...new Set(Object.values(SETS).flat())].map((key) => ({ key, name: key, click: '', ground: false }))
const known = { measures: [], parts } as Measures

const body = Object.fromEntries(
  (Object.keys(LANDMARKS) as LandmarkName[]).map((n, i) => [n, { x: i / 100, y: 0.5, seen: n === 'left-ear' ? 0.3 : 0.9 }]),
) as Record<LandmarkName, { x: number; y: number; seen: number }> as Body

test('the heels come first and are waited for; nothing is asked for twice', () => {
  const wanted = wantedParts(known, new Set(['legs', 'trunk']))
  expect(wanted.slice(0, 2).map((w) => [w.key, w.optional])).toEqual([['front-heel', false], ['back-heel', false]])
  expect(new Set(wanted.map((w) => w.key)).size).toBe(wanted.length)
  expect(wanted.some((w) => w.key === 'bat-toe')).toBe(false)
})

test('the front foot of a right-hander is the left one, of a left-hander the right one', () => {
  expect(partsOf(body, 'right')['front-heel']!.x).toBe(body['left-heel'].x)
  expect(partsOf(body, 'left')['front-heel']!.x).toBe(body['right-heel'].x)
  expect(partsOf(body, 'left')['back-knee']!.x).toBe(body['left-knee'].x)
})

test('the head is as sure as the worst of what it is made of', () => {
  const { head } = partsOf(body, 'right')
  expect(head!.seen).toBe(0.3)
  expect(head!.x).toBeCloseTo((body['left-eye'].x + body['right-eye'].x + body['left-ear'].x + body['right-ear'].x) / 4)
})

test('bones join what is there', () => {
  const at = { x: 0, y: 0 }
  expect(bones({ 'front-heel': at, 'back-heel': at, 'front-knee': at }).map((b) => b.key)).toEqual(['back-heel front-heel'])
  expect(Object.keys(only({ head: 1, ball: 2 }, [{ key: 'head', name: '' }]))).toEqual(['head'])
})
