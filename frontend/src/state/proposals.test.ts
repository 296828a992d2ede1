import { describe, expect, it } from 'vitest'
import type { NetMark, Observation, Proposal } from '../api/types'
import type { Coding } from './coding.svelte'
import { Proposals } from './proposals.svelte'

const proposed = (ball_id: number, group: string, term: string, from: Proposal['from'] = 'plan'): Proposal => ({ ball_id, group, term, from })
const list = [proposed(1, 'length', 'short'), proposed(1, 'height', 'chest'), proposed(1, 'feet', 'back', 'net'), proposed(2, 'length', 'full')]
const marks = [{ ball_id: 1, kind: 'good' }, { ball_id: null, kind: 'start' }] as NetMark[]

/** The coding page, as far as proposals look at it. */
function at(ballId: number, seen: Partial<Observation>[] = []) {
  const accepted: Proposal[] = []
  const coding = { balls: { id: 5 }, ballId, seen, accept: (p: Proposal[]) => accepted.push(...p) } as unknown as Coding
  return { accepted, proposals: new Proposals(coding, { proposals: () => Promise.resolve(list), net: () => Promise.resolve({ marks }) }) }
}

describe('proposals', () => {
  it('are those of the ball at hand, until somebody says so', async () => {
    const { proposals, accepted } = at(1, [{ kind: 'term', group: 'length', term: 'good' }])
    await proposals.load()
    expect(proposals.now).toEqual([list[1], list[2]])
    expect(proposals.marks.map((m) => m.kind)).toEqual(['good'])
    proposals.accept()
    expect(accepted).toEqual([list[1], list[2]])
  })
  it('from the net stay beside another term of the same group', async () => {
    const { proposals } = at(1, [{ kind: 'term', group: 'feet', term: 'forward' }])
    await proposals.load()
    expect(proposals.now).toContain(list[2])
  })
  it('leave the page as it is when they can’t be fetched', async () => {
    const coding = { balls: { id: 5 }, ballId: 1, seen: [] } as unknown as Coding
    const none = new Proposals(coding, { proposals: () => Promise.reject(new Error('no')), net: () => Promise.reject(new Error('no')) })
    await none.load()
    expect(none.now).toEqual([])
    expect(none.marks).toEqual([])
  })
})
