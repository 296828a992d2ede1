import { beforeEach, expect, it } from 'vitest'
import type { Observation, Stroke } from '../api/types'
import { Ink, type Sheet } from './coding-ink.svelte'
import { point } from './player-ink'

let kept: [Sheet, Stroke[]][]
let ink: Ink
const sheet: Sheet = { ball: 1, at: 5, recording: 3 }
const line = (x: number) => {
  ink.straight = true
  ink.down(point(x, 0))
  ink.move(point(x, 1))
  ink.up()
}

beforeEach(() => {
  kept = []
  ink = new Ink((s, strokes) => kept.push([s, strokes]))
})

it('keeps what was drawn, with its frame', () => {
  ink.start(sheet)
  line(0.2)
  ink.tone = 3
  line(0.4)
  ink.done()
  expect([ink.on, kept.length, kept[0]![0], kept[0]![1].map((s) => s.tone)]).toEqual([false, 1, sheet, [0, 3]])
})

it('a stroke under the pen is kept too', () => {
  ink.start(sheet)
  ink.down(point(0, 0))
  ink.move(point(0.5, 0.5))
  expect(ink.all).toHaveLength(1)
  ink.done()
  expect(kept[0]![1]).toHaveLength(1)
})

it('keeps nothing when nothing was changed, or all was thrown away', () => {
  ink.start(sheet)
  ink.done()
  const there = { drawing: { strokes: [{ straight: true, tone: 0, points: [] }] } } as unknown as Observation
  ink.start({ ...sheet, there })
  expect(ink.strokes).toHaveLength(1)
  ink.done()
  ink.start(sheet)
  line(0.2)
  ink.throwAway()
  ink.done()
  expect(kept).toEqual([])
})

it('takes strokes off, and with the last the drawing itself', () => {
  const there = { drawing: { strokes: [{ straight: true, tone: 0, points: [] }] } } as unknown as Observation
  ink.start({ ...sheet, there })
  line(0.1)
  ink.undo()
  ink.undo()
  ink.done()
  expect(kept[0]![1]).toEqual([])
  ink.start(sheet)
  line(0.1)
  ink.clear()
  expect(ink.strokes).toEqual([])
})

it('draws only on a frame', () => {
  line(0.1)
  expect(ink.all).toEqual([])
})
