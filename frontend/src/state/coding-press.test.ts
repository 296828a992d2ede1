import { beforeEach, expect, it } from 'vitest'
import { HOLD, Press } from './coding-press'

let press: Press
beforeEach(() => {
  press = new Press()
})
const at = (session: number, ms: number) => ({ session, ms })
const END = 9_000

it('a short press is a moment: the one when it went down', () => {
  expect(press.down('pull', at(1_000, 0))).toBeNull()
  expect(press.up('pull', at(1_090, 90), END)).toEqual({ term: 'pull', at: 1_000, until: null })
})

it('held while the clip plays it is a span', () => {
  press.down('pull', at(1_000, 0))
  expect(press.term).toBe('pull')
  expect(press.up('pull', at(3_000, HOLD), END)).toEqual({ term: 'pull', at: 1_000, until: 3_000 })
  expect(press.term).toBeNull()
})

it('held while the clip stands it is a moment', () => {
  press.down('pull', at(1_000, 0))
  expect(press.up('pull', at(1_000, 5 * HOLD), END)).toEqual({ term: 'pull', at: 1_000, until: null })
})

it('held over the end of the loop, the span ends with the ball', () => {
  press.down('pull', at(8_000, 0))
  expect(press.up('pull', at(500, HOLD), END)).toEqual({ term: 'pull', at: 8_000, until: END })
})

it('the next key makes the last one short, and its late release nothing', () => {
  press.down('good', at(1_000, 0))
  expect(press.down('pull', at(1_050, 50))).toEqual({ term: 'good', at: 1_000, until: null })
  expect(press.up('good', at(1_060, 60), END)).toBeNull()
  expect(press.up('pull', at(1_100, 100), END)).toEqual({ term: 'pull', at: 1_050, until: null })
})

it('what is scrolled away is no press', () => {
  press.down('pull', at(1_000, 0))
  press.cancel()
  expect(press.up('pull', at(1_100, 100), END)).toBeNull()
  expect(press.short()).toBeNull()
})
