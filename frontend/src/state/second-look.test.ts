import { beforeEach, describe, expect, it, vi } from 'vitest'
import type { Ball, Codes, Group, SecondLook, Vocabulary } from '../api/types'
import { Look } from './second-look.svelte'

const sent: { ball: number; seen: Codes }[] = []
let broken = false
let finished = 0
vi.mock('../api/secondlooks', () => ({
  saveLookBall: async (_: number, ball: number, seen: Codes) => {
    if (broken) throw new Error('no network')
    sent.push({ ball, seen })
  },
  finishSecondLook: async () => void finished++,
}))

const group = (key: string, many = false): Group => ({
  key,
  name: key,
  press: '',
  many,
  ordered: false,
  retired: false,
  terms: ['a', 'b', 'old'].map((t) => ({ key: t, name: t, press: '', retired: t === 'old' })),
})
const words: Vocabulary = { number: 1, groups: [group('length'), group('hands', true), group('other')] }
const ball = (id: number, done = false, seen: Codes = {}) => ({ ball: { id } as Ball, done, seen })
function begin(): Look {
  const look = new Look(5)
  look.take({ groups: ['hands', 'length'], balls: [ball(1, true, { length: ['a'] }), ball(2), ball(3)] } as unknown as SecondLook, words)
  return look
}

beforeEach(() => {
  sent.length = 0
  broken = false
  finished = 0
})

describe('a second look', () => {
  it('begins at the first ball that was not looked at, with the groups in the vocabulary’s order', () => {
    const look = begin()
    expect(look.ball?.id).toBe(2)
    expect(look.groups.map((g) => g.key)).toEqual(['length', 'hands'])
    expect(look.groups[0]?.terms.map((t) => t.key)).toEqual(['a', 'b'])
    expect([look.done, look.count]).toEqual([1, 3])
  })

  it('keeps each press, and walks on where one term holds', async () => {
    const look = begin()
    look.press('a')
    expect(look.group?.key).toBe('hands')
    look.press('a')
    look.press('b')
    look.press('a')
    await look.onward()
    expect(sent.at(-1)).toEqual({ ball: 2, seen: { length: ['a'], hands: ['b'] } })
    expect(look.ball?.id).toBe(3)
    expect(look.group?.key).toBe('length')
  })

  it('replaces the one term that holds, and takes it back', async () => {
    const look = begin()
    look.press('a')
    look.open = 0
    look.press('b')
    expect(look.terms('length')).toEqual(['b'])
    look.open = 0
    look.press('b')
    expect(look.terms('length')).toEqual([])
    await look.onward()
    expect(sent.at(-1)?.seen).toEqual({ length: [] })
  })

  it('counts a ball on which nothing was seen as looked at', async () => {
    const look = begin()
    await look.onward()
    expect(sent).toEqual([{ ball: 2, seen: {} }])
    expect(look.done).toBe(2)
  })

  it('sends again what could not be kept, and does not finish without it', async () => {
    const look = begin()
    broken = true
    look.press('a')
    await look.onward()
    expect(look.error).toBeInstanceOf(Error)
    await expect(look.finish()).rejects.toThrow('no network')
    expect(finished).toBe(0)
    broken = false
    await look.again()
    expect(look.error).toBeNull()
    expect(sent).toEqual([{ ball: 2, seen: { length: ['a'] } }])
    await look.finish()
    expect(finished).toBe(1)
  })
})
