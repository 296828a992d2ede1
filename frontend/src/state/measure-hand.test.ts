import { expect, test } from 'vitest'
import { PadHand } from './measure-hand.svelte'
import { PointBoard } from './point-board.svelte'

function pad() {
  const board = new PointBoard()
  board.start([{ key: 'heel', name: 'Heel' }, { key: 'toe', name: 'Toe' }])
  return { board, hand: new PadHand(board) }
}

test('a press puts the point that is asked for, and the next one is in hand', () => {
  const { board, hand } = pad()
  hand.press(1, { x: 0.3, y: 0.8 }, '', false)
  hand.move(1, { x: 0.31, y: 0.8 }, 1, false)
  hand.lift(1, true)
  expect(board.placed.heel).toEqual({ x: 0.31, y: 0.8 })
  expect(board.current).toBe('toe')
})

test('a point that is dragged moves as far as the finger, wherever the finger lies', () => {
  const { board, hand } = pad()
  board.place({ x: 0.3, y: 0.8 })
  hand.press(1, { x: 0.34, y: 0.84 }, 'heel', false)
  hand.move(1, { x: 0.36, y: 0.84 }, 1, false)
  hand.lift(1, false)
  expect(board.placed.heel!.x).toBeCloseTo(0.32)
  expect(board.placed.heel!.y).toBeCloseTo(0.8)
  expect(hand.eye).toBeNull()
  board.undo()
  expect(board.placed.heel).toEqual({ x: 0.3, y: 0.8 })
})

test('a second finger looks closer, and takes back what the first had put', () => {
  const { board, hand } = pad()
  hand.press(1, { x: 0.4, y: 0.5 }, '', false)
  hand.press(2, { x: 0.6, y: 0.5 }, '', false)
  expect(board.count).toBe(0)
  hand.move(2, { x: 0.8, y: 0.5 }, 1, false)
  expect(hand.view.scale).toBeCloseTo(2)
  hand.lift(1, false)
  hand.lift(2, false)
  expect(board.count).toBe(0)
})

test('a still that is only looked at keeps its points', () => {
  const { board, hand } = pad()
  hand.press(1, { x: 0.4, y: 0.5 }, '', true)
  hand.lift(1, true)
  expect(board.count).toBe(0)
})
