import { describe, expect, it } from 'vitest'
import { isVideo, refusal } from './videos'

describe('what is a video', () => {
  it.each([
    ['IMG_0001.MOV', 'video/quicktime', true],
    ['00012.MTS', '', true],
    ['clip.mkv', '', true],
    ['notes.txt', 'text/plain', false],
    ['photo.jpg', 'image/jpeg', false],
    ['mov', '', false],
  ])('%s (%s): %s', (name, type, yes) => expect(isVideo({ name, type })).toBe(yes))
  it('names what was left out', () => {
    expect(refusal([])).toBe('')
    expect(refusal(['a.txt'])).toBe('“a.txt” is no video and was left out.')
    expect(refusal(['a', 'b', 'c', 'd', 'e'])).toBe('“a”, “b”, “c” and 2 more are no videos and were left out.')
  })
})
