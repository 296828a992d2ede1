import fc from 'fast-check'
import { expect, test } from 'vitest'
import type { Vocabulary } from '../api/types'
import { parseQuestion, printQuestion, questionWords } from './question'

test('an address becomes a question', () => {
  expect(parseQuestion('shot=pull,cut&not.contact=missed&player=3&text=late%20hands&offset=60')).toEqual({
    has: { shot: ['pull', 'cut'], player: ['3'] }, not: { contact: ['missed'] }, uncoded: [], from: '', to: '', text: 'late hands', measured: {}, sort: '',
  })
})

test('a printed question reads back as itself', () => {
  const key = fc.stringMatching(/^[a-z]{3,8}$/).filter((k) => !['from', 'text', 'uncoded', 'offset', 'limit', 'not', 'sort'].includes(k))
  const keys = fc.uniqueArray(key, { minLength: 1, maxLength: 4 }).map((k) => k.sort())
  const filters = fc.dictionary(key, keys, { maxKeys: 4, noNullPrototype: true })
  fc.assert(
    fc.property(filters, filters, fc.uniqueArray(key, { maxLength: 2 }).map((k) => k.sort()), fc.string(), (has, not, uncoded, text) => {
      const q = { has, not, uncoded, from: '2026-01-31', to: '', text, measured: { 'base-width': '..55.5', knee: '120..' }, sort: '-base-width' }
      expect(parseQuestion(printQuestion(q))).toEqual(q)
    }),
  )
})

test('in words', () => {
  const v: Vocabulary = {
    number: 1,
    groups: [{ key: 'shot', name: 'Shot', press: 's', many: false, ordered: false, retired: false,
      terms: [{ key: 'pull', name: 'Pull', press: '1', retired: false }, { key: 'cut', name: 'Cut', press: '2', retired: false }] }],
  }
  const names = (f: string, id: string) => (f === 'player' && id === '3' ? 'Suri' : undefined)
  expect(questionWords(parseQuestion('shot=pull,cut&player=3&not.shot=hook'), v, names)).toBe('Shot: Pull or Cut; Player: Suri; not Shot: hook')
  expect(questionWords(parseQuestion(''), v, names)).toBe('Every ball')
})

test('measures in words', () => {
  const names = (f: string, id: string) => (id === 'base-width' ? { measured: 'Base', unit: ' cm' }[f] : undefined)
  const words = (q: string) => questionWords(parseQuestion(q), null, names)
  expect(words('measured.base-width=..55')).toBe('Base 55 cm or less')
  expect(words('measured.base-width=40..55&sort=-base-width')).toBe('Base 40 to 55 cm; Base from the largest')
  expect(words('measured.base-width=..')).toBe('Base measured')
})
