import { describe, expect, it } from 'vitest'
import type { Session, Vocabulary } from '../../api/types'
import { firstFocus } from './focus'

const words = (...keys: string[]): Vocabulary => ({
  number: 1,
  groups: keys.map((k) => ({ key: k.replace('!', ''), name: k, press: '', many: false, ordered: false, retired: k.endsWith('!'), terms: [] })),
})
const session = (id: number, held_on: string, ...focus: string[]): Session => ({
  id, held_on, focus, title: '', place: '', note: '', players: [], recordings: 0, balls: 0, coded: 0,
})

describe('the focus of a new session', () => {
  const all = words('length', 'shot', 'feet', 'base', 'decision', 'contact', 'hands')
  it('is the usual six at first', () => {
    expect(firstFocus(all, [])).toEqual(['length', 'shot', 'feet', 'base', 'decision', 'contact'])
  })
  it('is as last time, in that order', () => {
    expect(firstFocus(all, [session(1, '2026-01-01', 'shot'), session(2, '2026-02-01', 'hands', 'base')])).toEqual(['hands', 'base'])
  })
  it('leaves out what is retired or gone', () => {
    expect(firstFocus(words('shot', 'base!'), [session(1, '2026-01-01', 'base', 'grip', 'shot')])).toEqual(['shot'])
    expect(firstFocus(words('shot', 'base!'), [])).toEqual(['shot'])
  })
})
