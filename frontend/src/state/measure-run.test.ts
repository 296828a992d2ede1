import { expect, test } from 'vitest'
import type { Ball, Recording } from '../api/types'
import { tasksOf } from './measure-run.svelte'

const box = { x: 0.2, y: 0.2, width: 0.3, height: 0.6 }
const camera = (id: number) => ({ recording: { id, offset_us: 1_000_000, rate_ppm: 0 } as Recording, box })
const ball = (id: number, contact: number | null, recordings: number[]) =>
  ({ id, contact_us: contact, clips: recordings.map((r) => ({ recording_id: r })) }) as Ball

test('struck balls that nobody measured are, on the first camera that is ready', () => {
  const all = [ball(1, 5_000_000, [7, 8]), ball(2, null, [7]), ball(3, 6_000_000, [8]), ball(4, 7_000_000, [7]), ball(5, 8_000_000, [9])]
  const tasks = tasksOf(all, [camera(7), camera(8)], new Set([4]), () => 'left')
  expect(tasks.map((t) => [t.ball.id, t.recording.id, t.at])).toEqual([[1, 7, 4_000_000], [3, 8, 5_000_000]])
  expect(tasks[0]!.bats).toBe('left')
})
