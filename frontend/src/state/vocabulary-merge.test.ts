import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Group, Vocabulary } from '../api/types'
import { rebase } from './vocabulary-merge'

const term = (key: string, name = key) => ({ key, name, press: '', retired: false })
const group = (key: string, ...terms: string[]): Group => ({
  key, name: key, press: '', many: false, ordered: false, retired: false, terms: terms.map((t) => term(t)),
})
const edition = (number: number, ...groups: Group[]): Vocabulary => ({ number, groups })
const shape = (v: Vocabulary) => v.groups.map((g) => `${g.key}: ${g.terms.map((t) => t.key).join(' ')}`)

describe('putting my changes over theirs', () => {
  const base = edition(1, group('shot', 'cut', 'pull'), group('feet', 'back'))

  it('keeps what each has added', () => {
    const mine = edition(1, group('shot', 'cut', 'hook', 'pull'), group('feet', 'back'))
    const theirs = edition(2, group('shot', 'cut', 'pull', 'sweep'), group('feet', 'back'), group('base', 'wide'))
    expect(shape(rebase(base, mine, theirs))).toEqual(['shot: cut hook pull sweep', 'feet: back', 'base: wide'])
    expect(rebase(base, mine, theirs).number).toBe(2)
  })
  it('takes my name where I changed it and theirs where I did not', () => {
    const mine = structuredClone(base)
    mine.groups[0]!.terms[0]!.name = 'Cut shot'
    const theirs = structuredClone(base)
    theirs.groups[0]!.terms[0]!.name = 'Square cut'
    theirs.groups[0]!.terms[1]!.name = 'Pull shot'
    theirs.groups[0]!.terms[1]!.retired = true
    const [cut, pull] = rebase(base, mine, theirs).groups[0]!.terms
    expect(cut!.name).toBe('Cut shot')
    expect(pull).toMatchObject({ name: 'Pull shot', retired: true })
  })
  it('keeps my order if I moved something, else theirs', () => {
    const turned = edition(1, group('feet', 'back'), group('shot', 'cut', 'pull'))
    expect(shape(rebase(base, turned, base))).toEqual(['feet: back', 'shot: cut pull'])
    expect(shape(rebase(base, base, turned))).toEqual(['feet: back', 'shot: cut pull'])
  })
})

const names = fc.constantFrom('a', 'b', 'c')
const arbTerms = fc.uniqueArray(
  fc.record({ key: fc.constantFrom('p', 'q', 'r', 's'), name: names, press: names, retired: fc.boolean() }),
  { selector: (t) => t.key, maxLength: 4 },
)
const arbGroups = fc.uniqueArray(
  fc.record({
    key: fc.constantFrom('x', 'y', 'z'), name: names, press: names, many: fc.boolean(), ordered: fc.boolean(),
    retired: fc.boolean(), terms: arbTerms,
  }),
  { selector: (g) => g.key, maxLength: 3 },
)
/** An edition that follows another: nothing has gone. */
function following(base: Group[], wanted: Group[]): Group[] {
  const out = wanted.map((g) => {
    const old = base.find((b) => b.key === g.key)
    return { ...g, terms: [...g.terms, ...(old?.terms ?? []).filter((t) => !g.terms.some((n) => n.key === t.key))] }
  })
  return [...out, ...base.filter((b) => !out.some((g) => g.key === b.key))]
}

describe('its laws', () => {
  const arb = fc.tuple(arbGroups, arbGroups, arbGroups).map(([b, m, t]) => ({
    base: edition(1, ...b), mine: edition(1, ...following(b, m)), theirs: edition(2, ...following(b, t)),
  }))
  it('nothing of theirs: mine stays; nothing of mine: theirs stays', () => {
    fc.assert(
      fc.property(arb, ({ base, mine, theirs }) => {
        expect(rebase(base, mine, base).groups).toEqual(mine.groups)
        expect(rebase(base, base, theirs)).toEqual(theirs)
      }),
    )
  })
  it('loses no group or term of either, and doubles none', () => {
    fc.assert(
      fc.property(arb, ({ base, mine, theirs }) => {
        const out = rebase(base, mine, theirs)
        const all = (v: Vocabulary) => v.groups.flatMap((g) => [g.key, ...g.terms.map((t) => `${g.key}.${t.key}`)])
        expect(all(out).sort()).toEqual([...new Set([...all(mine), ...all(theirs)])].sort())
      }),
    )
  })
})
