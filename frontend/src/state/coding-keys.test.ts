import { describe, expect, it } from 'vitest'
import { commandOf } from './coding-keys'
import { keyName } from './keys'

const plain = { key: '', code: '', ctrlKey: false, metaKey: false, altKey: false, shiftKey: false }
const press = (e: Partial<typeof plain>, single = true) => {
  const event = { ...plain, ...e }
  return commandOf(keyName(event), event, single)
}

describe('keys', () => {
  it.each([
    [{ key: ' ' }, { do: 'toggle' }],
    [{ key: 'ArrowLeft' }, { do: 'step', by: -1 }],
    [{ key: 'ArrowUp' }, { do: 'speed', by: 1 }],
    [{ key: 'Home' }, { do: 'contact' }],
    [{ key: ']' }, { do: 'ball', by: 1 }],
    [{ key: 'PageUp' }, { do: 'ball', by: -1 }],
    [{ key: 'Tab', shiftKey: true }, { do: 'group', by: -1 }],
    [{ key: 'Backspace' }, { do: 'undo' }],
    [{ key: 'z', metaKey: true }, { do: 'undo' }],
    [{ key: '?', shiftKey: true }, { do: 'keys' }],
    [{ key: '-' }, { do: 'accept' }],
    [{ key: 'q', code: 'KeyQ' }, { do: 'term', press: 'q', mark: false }],
    [{ key: '4', code: 'Digit4' }, { do: 'term', press: '4', mark: false }],
    [{ key: 'S', code: 'KeyS', shiftKey: true }, { do: 'open', press: 's' }],
    [{ key: '!', code: 'Digit1', shiftKey: true }, { do: 'term', press: '1', mark: true }],
    [{ key: 'é', code: 'Digit2' }, { do: 'term', press: 'é', or: '2', mark: false }],
    [{ key: '2', code: 'Digit2', shiftKey: true }, { do: 'term', press: '2', mark: false }],
  ])('%o', (e, command) => expect(press(e)).toEqual(command))

  it('a slash on the digit row is a slash', () => {
    expect(press({ key: '/', code: 'Digit7', shiftKey: true })).toEqual({ do: 'note' })
  })

  it('leaves the browser its own', () => {
    expect([press({ key: 'r', ctrlKey: true }), press({ key: '1', altKey: true, code: 'Digit1' }), press({ key: 'F5' })]).toEqual([null, null, null])
  })

  it('single characters can be switched off, and nothing else', () => {
    const off = (e: Partial<typeof plain>) => press(e, false)
    expect([off({ key: 'q' }), off({ key: ' ' }), off({ key: 'S', shiftKey: true })]).toEqual([null, null, null])
    expect(off({ key: 'ArrowRight' })).toEqual({ do: 'step', by: 1 })
  })
})
