/** The keys of the lane, as they are listed and as they work. */
export interface LaneKey {
  keys: string[]
  what: string
}

export const laneKeys: LaneKey[] = [
  { keys: ['Space'], what: 'Play, pause' },
  { keys: ['←', '→'], what: 'Playhead by a tenth of a second; with Shift by one second' },
  { keys: ['[', ']'], what: 'Ball before, next ball' },
  { keys: ['n'], what: 'Next ball that the split is unsure of' },
  { keys: ['Enter'], what: 'Accept the ball, and go to the next unsure one' },
  { keys: ['x'], what: 'Discard the ball, or restore a discarded one' },
  { keys: ['Shift+a'], what: 'Accept all' },
  { keys: ['a'], what: 'Add a ball at the playhead' },
  { keys: ['q', 'w'], what: 'Start earlier, later; with Shift by a fiftieth of a second' },
  { keys: ['e', 'r'], what: 'End earlier, later; with Shift by a fiftieth of a second' },
  { keys: ['c'], what: 'Contact at the playhead; there already: nothing was struck' },
  { keys: ['s'], what: 'Split the ball at the playhead' },
  { keys: ['m'], what: 'Merge with the next ball' },
  { keys: ['b'], what: 'Lay out a block over what the lane shows' },
  { keys: ['+', '-', '0'], what: 'Nearer, further away, the whole session' },
  { keys: ['Ctrl+z', 'Ctrl+y'], what: 'Undo, do again' },
  { keys: ['?'], what: 'This list' },
]
