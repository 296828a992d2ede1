import { expect, test } from 'vitest'
import type { Observation, Vocabulary } from '../api/types'
import { givenByBlock } from './find-given'

const vocabulary = {
  groups: [{ key: 'bowling', name: 'Bowling', terms: [{ key: 'fast', name: 'Fast' }, { key: 'off-spin', name: 'Off spin' }] }],
} as unknown as Vocabulary
const seen = (group: string, term: string, kind = 'term') => ({ kind, group, term }) as Observation

test.each([
  ['by the block', { bowling: ['off-spin'] }, [seen('shot', 'sweep')], ['Off spin']],
  ['one of several', { bowling: ['fast', 'off-spin'] }, [], ['Fast or Off spin']],
  ['seen on the ball itself', { bowling: ['off-spin'] }, [seen('bowling', 'off-spin')], []],
  ['a group that no block gives', { shot: ['sweep'] }, [], []],
  ['not asked', {}, [], []],
  ['a name that is not known', { feed: ['machine'] }, [seen('feed', '', 'note')], ['machine']],
])('%s', (_, asked, list, want) => expect(givenByBlock(asked as Record<string, string[]>, list, vocabulary)).toEqual(want))
