import { expect, test } from 'vitest'
import type { Clip, PlaylistItem } from '../api/types'
import { clipBeside } from './side-desk.svelte'

const clip = (id: number, camera: string, file: unknown = {}) => ({ id, camera, file }) as Clip
const item = (...clips: Clip[]) => ({ ball: { clips } }) as unknown as PlaylistItem

test('beside another ball stands the same camera’s clip', () => {
  expect(clipBeside(item(clip(3, 'behind-the-arm'), clip(4, 'side-on')), clip(1, 'side-on'))?.id).toBe(4)
  expect(clipBeside(item(clip(3, 'behind-the-arm')), clip(1, 'side-on'))?.id).toBe(3)
})

test('beside a ball itself stands another clip of it, where there is one', () => {
  const [side, arm] = [clip(1, 'side-on'), clip(2, 'behind-the-arm')]
  expect(clipBeside(item(side, arm), side)?.id).toBe(2)
  expect(clipBeside(item(side, clip(2, 'behind-the-arm', null)), side)?.id).toBe(1)
  expect(clipBeside(item(side), side)?.id).toBe(1)
  expect(clipBeside(undefined, null)).toBeNull()
})
