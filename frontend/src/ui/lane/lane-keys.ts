/** The keys of the lane: one list from which they are shown and by which they work. */
import type { LaneActs } from '../../state/lane-acts'
import type { LaneDesk } from '../../state/lane.svelte'

export interface LaneKey {
  /** As people read them. */
  shown: string[]
  what: string
  /** As the page hears them (state/keys.ts). */
  on: Record<string, () => void>
}

export interface LaneKeysOptions {
  desk: LaneDesk
  acts: LaneActs
  play: () => void
  newBlock: () => void
  list: () => void
}

const TENTH = 100_000
const FINE = 20_000

export function laneKeys({ desk, acts, play, newBlock, list }: LaneKeysOptions): LaneKey[] {
  const by = (us: number) => () => desk.seek(desk.playhead + us)
  const edge = (which: 'start' | 'end', us: number) => () => acts.nudge(which, us)
  return [
    { shown: ['Space'], what: 'Play, pause', on: { Space: play } },
    {
      shown: ['←', '→'],
      what: 'Playhead by a tenth of a second; with Shift by one second',
      on: { ArrowLeft: by(-TENTH), ArrowRight: by(TENTH), 'Shift+ArrowLeft': by(-1_000_000), 'Shift+ArrowRight': by(1_000_000) },
    },
    { shown: ['[', ']'], what: 'Ball before, next ball', on: { '[': () => desk.step(-1), ']': () => desk.step(1) } },
    { shown: ['n'], what: 'Next ball that the split is unsure of', on: { n: () => desk.nextUnsure() } },
    { shown: ['Enter'], what: 'Accept the ball, and go to the next unsure one', on: { Enter: () => acts.accept() } },
    {
      shown: ['x'],
      what: 'Discard the ball, or restore a discarded one',
      on: { x: () => acts.discard(), Delete: () => acts.discard() },
    },
    { shown: ['Shift', 'A'], what: 'Accept all', on: { 'Shift+a': () => acts.acceptAll() } },
    { shown: ['a'], what: 'Add a ball at the playhead', on: { a: () => acts.add() } },
    {
      shown: ['q', 'w'],
      what: 'Start earlier, later; with Shift by a fiftieth of a second',
      on: { q: edge('start', -TENTH), w: edge('start', TENTH), 'Shift+q': edge('start', -FINE), 'Shift+w': edge('start', FINE) },
    },
    {
      shown: ['e', 'r'],
      what: 'End earlier, later; with Shift by a fiftieth of a second',
      on: { e: edge('end', -TENTH), r: edge('end', TENTH), 'Shift+e': edge('end', -FINE), 'Shift+r': edge('end', FINE) },
    },
    { shown: ['c'], what: 'Contact at the playhead; there already: nothing was struck', on: { c: () => acts.contact() } },
    { shown: ['s'], what: 'Split the ball at the playhead', on: { s: () => acts.split() } },
    { shown: ['m'], what: 'Merge with the next ball', on: { m: () => acts.merge() } },
    { shown: ['b'], what: 'Lay out a block where there is room', on: { b: newBlock } },
    { shown: ['p'], what: 'Picture from the other camera', on: { p: () => desk.otherCamera() } },
    {
      shown: ['+', '-', '0'],
      what: 'Nearer, further away, the whole session',
      on: { '+': () => desk.zoom(0.6), '=': () => desk.zoom(0.6), '-': () => desk.zoom(1.6), '0': () => desk.fit(true) },
    },
    { shown: ['z'], what: 'The ball in hand, from near', on: { z: () => desk.nearBall() } },
    {
      shown: ['Ctrl+z', 'Ctrl+y'],
      what: 'Undo, do again',
      on: { 'Ctrl+z': () => desk.undo(), 'Ctrl+y': () => desk.redo(), 'Ctrl+Shift+z': () => desk.redo() },
    },
    { shown: ['?'], what: 'This list', on: { '?': list } },
  ]
}
