import { expect, test } from 'vitest'
import { PointBoard } from './point-board.svelte'

const wanted = [
  { key: 'heel', name: 'Heel' },
  { key: 'toe', name: 'Toe' },
  { key: 'head', name: 'Head', optional: true },
]

function board() {
  const b = new PointBoard()
  b.start(wanted)
  return b
}

test('points are asked for one after another, and what may be left out last', () => {
  const b = board()
  expect(b.current).toBe('heel')
  b.place({ x: 0.2, y: 0.9 })
  expect(b.current).toBe('toe')
  expect(b.complete).toBe(false)
  b.place({ x: 0.3, y: 0.9 })
  expect(b.complete).toBe(true)
  expect(b.current).toBe('head')
  b.place({ x: 0.3, y: 0.1 })
  expect(b.current).toBe('head') // stays in hand for the arrow keys
})

test('undo goes back over places, drags and clearing', () => {
  const b = board()
  b.place({ x: 0.2, y: 0.9 })
  b.keep()
  b.move('heel', { x: 0.25, y: 0.9 }, false)
  b.move('heel', { x: 0.27, y: 0.9 }, false)
  b.undo()
  expect(b.placed.heel).toEqual({ x: 0.2, y: 0.9 })
  b.clear('heel')
  expect(b.placed.heel).toBeUndefined()
  b.undo()
  b.undo()
  expect(b.count).toBe(0)
  expect(b.current).toBe('heel')
  expect(b.canUndo).toBe(false)
})

test('arrow keys move the point in hand, and never out of the picture', () => {
  const b = board()
  b.nudge(0.1, 0.1) // nothing there yet
  expect(b.count).toBe(0)
  b.place({ x: 0.99, y: 0.5 }, false)
  b.nudge(0.1, -0.1)
  expect(b.placed.heel).toEqual({ x: 1, y: 0.4 })
})

test('what was proposed is told from what was corrected', () => {
  const b = new PointBoard()
  const proposed = { heel: { x: 0.1, y: 0.9 }, toe: { x: 0.2, y: 0.9 } }
  b.start(wanted, proposed, proposed)
  expect(b.current).toBe('head')
  expect(b.asProposed('heel')).toBe(true)
  b.move('heel', { x: 0.11, y: 0.9 })
  expect(b.asProposed('heel')).toBe(false)
  expect(b.proposed.heel).toEqual({ x: 0.1, y: 0.9 })
})
