import { describe, expect, it } from 'vitest'
import type { Agreement } from '../api/types'
import { doubtOf, doubtOfRate } from './trust'

const term = (name: string, trust: string) => ({ key: name, name, trust })
const agreement = {
  floor: 0.6,
  groups: [
    { key: 'contact', name: 'Contact', terms: [term('Middled', 'trusted'), term('Mistimed', 'untrusted'), term('Glove', 'unproven'), term('Missed', 'untrusted')] },
    { key: 'base', name: 'Base', terms: [term('Sound', 'trusted')] },
  ],
} as unknown as Agreement

describe('trust', () => {
  it('names the terms that coders did not see alike', () => {
    expect(doubtOf(agreement, ['contact', 'base'])).toBe('Not to be trusted: in second looks, coders did not see the same. Contact: Mistimed, Missed.')
    expect(doubtOfRate(agreement, 'control-faced')).toContain('Mistimed')
  })
  it('says nothing where there is nothing to doubt', () => {
    expect(doubtOf(agreement, ['base'])).toBe('')
    expect(doubtOf(null, ['contact'])).toBe('')
    expect(doubtOfRate(agreement, 'right-decision')).toBe('')
    expect(doubtOfRate(agreement, 'something else')).toBe('')
  })
})
