import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Vocabulary } from '../api/types'
import { Draft, keyOf, moveInUse } from './vocabulary-draft.svelte'

const first = (): Vocabulary => ({
  number: 3,
  groups: [
    {
      key: 'shot', name: 'Shot', press: 's', many: false, ordered: false, retired: false,
      terms: [
        { key: 'cut', name: 'Cut', press: '1', retired: false },
        { key: 'hook', name: 'Hook', press: '2', retired: true },
        { key: 'pull', name: 'Pull', press: '3', retired: false },
      ],
    },
    { key: 'base', name: 'Base', press: 'a', many: false, ordered: false, retired: false, terms: [] },
  ],
})

describe('keys', () => {
  // The cases of the server's own rule (package vocabulary, func Key).
  it.each([
    ['Wide of off', [], 'wide-of-off'],
    ['Wide of off', ['wide-of-off'], 'wide-of-off-2'],
    ['Wide of off', ['wide-of-off', 'wide-of-off-2'], 'wide-of-off-3'],
    ['  360° shot ', [], 'term-360-shot'],
    ['Élan', [], 'lan'],
    ['???', [], 'term'],
  ])('%s beside %j is %s', (name, taken, key) => expect(keyOf(name, (k) => taken.includes(k))).toBe(key))
  it('are always well formed and free', () => {
    fc.assert(
      fc.property(fc.string(), fc.array(fc.string()), (name, taken) => {
        const key = keyOf(name, (k) => taken.includes(k))
        expect(key).toMatch(/^[a-z][a-z0-9]*(-[a-z0-9]+)*$/)
        expect(taken).not.toContain(key)
      }),
    )
  })
})

describe('a draft', () => {
  it('is untouched until something changes, and again when it is changed back', () => {
    const d = new Draft(first())
    expect(d.touched).toBe(false)
    d.group('shot')!.name = 'Stroke'
    expect(d.touched).toBe(true)
    d.group('shot')!.name = 'Shot'
    expect(d.touched).toBe(false)
  })
  it('adds with a free key to press', () => {
    const d = new Draft(first())
    expect(d.addGroup('Backlift')).toMatchObject({ key: 'backlift', press: 'b', terms: [] })
    expect(d.addGroup('Bat')).toMatchObject({ key: 'bat', press: 't' })
    expect(d.addTerm(d.group('shot')!, 'Sweep')).toMatchObject({ key: 'sweep', press: '2' })
    expect(d.edition.number).toBe(3)
  })
  it('retires what was saved and takes out what was not', () => {
    const d = new Draft(first())
    const shot = d.group('shot')!
    const sweep = d.addTerm(shot, 'Sweep')
    d.remove(shot, sweep)
    d.remove(shot, shot.terms[0])
    expect(shot.terms.map((t) => [t.key, t.retired])).toEqual([['cut', true], ['hook', true], ['pull', false]])
    d.remove(d.addGroup('Grip'))
    d.remove(d.group('base')!)
    expect(d.groups.map((g) => [g.key, g.retired])).toEqual([['shot', false], ['base', true]])
  })
  it('brings back, without a key that another has taken', () => {
    const d = new Draft(first())
    const shot = d.group('shot')!
    d.addTerm(shot, 'Sweep') // takes 2
    d.restore(shot.terms[1]!, shot.terms)
    expect(shot.terms[1]).toMatchObject({ key: 'hook', retired: false, press: '' })
  })
  it('moves among those in use', () => {
    const d = new Draft(first())
    d.moveTerm(d.group('shot')!, 1, 0)
    expect(d.group('shot')!.terms.map((t) => t.key)).toEqual(['pull', 'cut', 'hook'])
    d.moveGroup(0, 1)
    expect(d.groups.map((g) => g.key)).toEqual(['base', 'shot'])
    expect(moveInUse([{ retired: true }], 0, 0)).toEqual([{ retired: true }])
  })
  it('shows what the server found wrong at its place', () => {
    const d = new Draft(first())
    d.problems = { 'groups.0.terms.2.press': 'is used twice', 'groups.1.name': 'is used twice' }
    expect(d.problem('press', 'shot', 'pull')).toBe('is used twice')
    expect(d.problem('name', 'base')).toBe('is used twice')
    expect(d.problem('name', 'shot')).toBe('')
    expect([d.hasProblem('shot'), d.hasProblem('base')]).toEqual([true, true])
    d.moveGroup(0, 1)
    expect(d.hasProblem('shot')).toBe(false)
  })
  it('is put over what somebody else has saved', () => {
    const d = new Draft(first())
    d.group('shot')!.terms[0]!.name = 'Cut shot'
    const theirs = { ...first(), number: 4 }
    theirs.groups[1]!.name = 'Stance'
    d.rebase(theirs)
    expect(d.edition.number).toBe(4)
    expect(d.group('base')!.name).toBe('Stance')
    expect(d.group('shot')!.terms[0]!.name).toBe('Cut shot')
    expect(d.touched).toBe(true)
  })
})
