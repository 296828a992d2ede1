import { describe, expect, it } from 'vitest'
import type { Block, Group, Observation, Vocabulary } from '../api/types'
import { coded, following, given, inOrder, neighbour, offered, opening, walkOf } from './coding-walk'

const group = (key: string, more: Partial<Group> = {}): Group => ({
  key, name: key, press: key[0]!, many: false, ordered: false, retired: false,
  terms: [
    { key: 'x', name: 'X', press: '1', retired: false },
    { key: 'y', name: 'Y', press: '2', retired: true },
  ],
  ...more,
})
const vocabulary: Vocabulary = {
  number: 1,
  groups: [group('bowling'), group('feed'), group('length'), group('shot'), group('hands', { many: true }), group('old', { retired: true }), group('base')],
}
const groups = offered(vocabulary)
const walk = walkOf(groups, ['length', 'shot', 'gone', 'base'])
const keys = (list: Group[]) => list.map((g) => g.key)
const none = () => false
const saw = (group: string): Observation => ({
  id: 1, uuid: group, ball_id: 1, coder_id: 1, coder: '', kind: 'term', at_us: 0, until_us: null, group, term: 'x', wording: 'X',
  edition: 1, body: '', drawing: null, recording_id: null, made: '',
})

describe('the order', () => {
  it('offers nothing that is retired', () => {
    expect(keys(groups)).toEqual(['bowling', 'feed', 'length', 'shot', 'hands', 'base'])
    expect(groups[0]!.terms.map((t) => t.key)).toEqual(['x'])
  })

  it('has the focus first, as far as it is still there', () => {
    expect(keys(walk.focus)).toEqual(['length', 'shot', 'base'])
    expect(keys(inOrder(walk))).toEqual(['length', 'shot', 'base', 'bowling', 'feed', 'hands'])
  })

  it('goes round with Tab', () => {
    expect(neighbour(walk, 'base', 1)).toBe('bowling')
    expect(neighbour(walk, 'length', -1)).toBe('hands')
    expect(neighbour(walk, 'hands', 1)).toBe('length')
    expect(neighbour(walkOf([], []), 'x', 1)).toBe('x')
  })
})

describe('what opens', () => {
  it('a new ball opens at the first group that is not done', () => {
    expect(opening(walk, none)).toBe('length')
    expect(opening(walk, (g) => g === 'length')).toBe('shot')
    expect(opening(walk, () => true)).toBe('length')
    expect(opening(walkOf(groups, []), none)).toBe('bowling')
    expect(opening(walkOf([], []), none)).toBe('')
  })

  it('as many terms as groups of the focus code a ball', () => {
    const done = new Set<string>()
    let open = opening(walk, none)
    const visited: string[] = []
    for (let i = 0; i < walk.focus.length; i++) {
      visited.push(open)
      done.add(open)
      open = following(walk, open, (g) => done.has(g))
    }
    expect(visited).toEqual(['length', 'shot', 'base'])
    expect(open).toBe('base')
  })

  it('a group that was passed over comes up again', () => {
    expect(following(walk, 'base', (g) => g !== 'shot')).toBe('shot')
  })

  it('after another group the focus goes on where it was left', () => {
    expect(following(walk, 'feed', (g) => g === 'length')).toBe('shot')
  })

  it('a group of many stays open', () => {
    expect(following(walk, 'hands', none)).toBe('hands')
  })

  it('an unknown group changes nothing', () => {
    expect(following(walk, 'gone', none)).toBe('gone')
  })
})

describe('how far a ball is coded', () => {
  const block: Block = { id: 1, name: 'Machine', start_us: 0, end_us: 1, feed: 'machine' }

  it('knows what the block gives', () => {
    expect([...given(block)]).toEqual([['feed', 'machine']])
    expect([...given(undefined)]).toEqual([])
  })

  it('counts what anybody saw and what the block gives', () => {
    const w = walkOf(groups, ['feed', 'length', 'shot'])
    expect(coded(w, [], given(block))).toBe('none')
    expect(coded(w, [saw('length')], given(block))).toBe('some')
    expect(coded(w, [saw('length'), saw('shot')], given(block))).toBe('all')
    expect(coded(w, [saw('length'), saw('shot')], given(undefined))).toBe('some')
  })
})
