import { expect, test } from 'vitest'
import { firstMove, isThere, next, tight, wayOf, whereabouts, type Glimpse } from './follow'
import { JOINTS, squared, type Box, type JointName, type Joints } from './landmarks'

const RATIO = 16 / 9

/** A body that stands at x, its feet moved by so much; all in shares of the picture. */
function standing(x: number, step = 0, seen = 0.8): Joints {
  const at = (name: JointName) => {
    const side = name.startsWith('left') ? 0.015 : name.startsWith('right') ? -0.015 : 0
    const height = { nose: 0.05, eye: 0.04, ear: 0.04, shoulder: 0.1, elbow: 0.18, wrist: 0.24, hip: 0.26, knee: 0.38, ankle: 0.5 }[name.split('-').at(-1)!]!
    return { x: x + side + (name === 'left-ankle' ? step : 0), y: 0.3 + height, seen }
  }
  return Object.fromEntries(JOINTS.map((name) => [name, at(name)])) as Record<JointName, { x: number; y: number; seen: number }>
}
const holds = (b: Box, j: Joints) => Object.values(j).every((l) => l.x > b.x && l.x < b.x + b.width && l.y > b.y && l.y < b.y + b.height)

test('the box goes where the body goes, and stays where it was when the body is not seen', () => {
  let box = squared({ x: 0.15, y: 0.28, width: 0.1, height: 0.55 }, RATIO)
  for (let x = 0.2; x < 0.8; x += 0.04) {
    const body = standing(x)
    expect(holds(box, body)).toBe(true)
    box = next(box, body, RATIO)
    expect(box.width * RATIO).toBeCloseTo(box.height)
  }
  expect(next(box, standing(0.3, 0, 0.1), RATIO)).toEqual(box)
  expect(next(box, null, RATIO)).toEqual(box)
})

test('a box grows by no more than a share a look', () => {
  const small: Box = { x: 0.4, y: 0.4, width: 0.09, height: 0.16 }
  expect(next(small, standing(0.45), RATIO).height).toBeCloseTo(0.16 * 1.15)
})

test('a body is there when most of it is seen, and its box is that of what is seen', () => {
  expect(isThere(standing(0.5))).toBe(true)
  expect(isThere(standing(0.5, 0, 0.15))).toBe(false)
  expect(isThere(null)).toBe(false)
  const hidden: Joints = { ...standing(0.5), 'left-ankle': { x: 0.9, y: 0.9, seen: 0.05 } }
  expect(tight(hidden).x + tight(hidden).width).toBeCloseTo(0.515)
})

test('a body lies in its box with its shoes, however close together its ankles are, and the box in the picture', () => {
  const slim = standing(0.5)
  const shoe = 0.08 // of the picture's height, a sixth of the body's
  const box = whereabouts(slim, RATIO)
  expect(box.x).toBeLessThan(0.485 - shoe / RATIO)
  expect(box.x + box.width).toBeGreaterThan(0.515 + shoe / RATIO)
  expect(box.y + box.height).toBeGreaterThan(0.8 + 0.08)
  const cut = whereabouts(standing(0.99), RATIO)
  expect(cut.x + cut.width).toBe(1)
})

const film = (steps: readonly number[]): Glimpse[] => steps.map((s, i) => ({ at: i * 60_000, joints: standing(0.5, s), box: { x: 0, y: 0, width: 1, height: 1 } }))

test('the first move is the one after which the feet do not come back', () => {
  const trembling = [0, 0.002, -0.001, 0.001, 0, 0.002, 0, 0.03, 0.001, 0]
  const going = [0.02, 0.06, 0.1, 0.12]
  expect(firstMove(film([...trembling, ...going]), RATIO)).toEqual({ still: 9 * 60_000, moved: 10 * 60_000 })
  expect(firstMove(film(trembling), RATIO)).toBeNull()
  expect(firstMove(film([0, 0.1]), RATIO)).toBeNull()
})

test('the way of a joint leaves out where it was not seen', () => {
  const track = film([0, 0.01, 0.02])
  const dim = { ...track[1]!, joints: standing(0.5, 0.01, 0.1) }
  expect(wayOf([track[0]!, dim, track[2]!], 'nose')).toHaveLength(2)
})
