import { describe, expect, it } from 'vitest'
import { keyName, offer, type KeyLike, type Scope } from './keys'

const ev = (key: string, mods: Partial<KeyLike> = {}): KeyLike => ({ key, ctrlKey: false, metaKey: false, altKey: false, shiftKey: false, ...mods })
const nothing = {} as KeyboardEvent

describe('keyName', () => {
  it.each([
    [ev('a'), 'a'],
    [ev('A', { shiftKey: true }), 'Shift+a'],
    [ev('A'), 'a'], // caps lock
    [ev('?', { shiftKey: true }), '?'],
    [ev('Tab', { shiftKey: true }), 'Shift+Tab'],
    [ev(' '), 'Space'],
    [ev('z', { metaKey: true }), 'Ctrl+z'],
    [ev('Z', { ctrlKey: true, shiftKey: true }), 'Ctrl+Shift+z'],
    [ev('ArrowLeft', { altKey: true }), 'Alt+ArrowLeft'],
  ])('%o is %s', (e, name) => expect(keyName(e)).toBe(name))
})

describe('scopes', () => {
  it('offer a key to the newest first', () => {
    const heard: string[] = []
    const below: Scope = { keys: { a: () => void heard.push('below a'), b: () => void heard.push('below b') } }
    const above: Scope = { keys: { a: () => void heard.push('above a') } }
    expect(offer('a', nothing, [below, above])).toBe(true)
    expect(offer('b', nothing, [below, above])).toBe(true)
    expect(offer('c', nothing, [below, above])).toBe(false)
    expect(heard).toEqual(['above a', 'below b'])
  })
  it('pass a key on when the handler says so', () => {
    const heard: string[] = []
    const below: Scope = { keys: { a: () => void heard.push('below') } }
    expect(offer('a', nothing, [below, { keys: { a: () => false } }])).toBe(true)
    expect(heard).toEqual(['below'])
  })
  it('are hidden by a modal one', () => {
    expect(offer('a', nothing, [{ keys: { a: () => {} } }, { modal: true }])).toBe(false)
  })
  it('may take keys that they do not name', () => {
    expect(offer('7', nothing, [{ other: (name) => name === '7' }])).toBe(true)
    expect(offer('8', nothing, [{ other: (name) => name === '7' }])).toBe(false)
  })
})
