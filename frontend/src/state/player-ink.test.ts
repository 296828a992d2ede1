import { describe, expect, it } from 'vitest'
import type { Observation } from '../api/types'
import { begin, draw, finish, keptOn, pathOf, point, roomFor, showing, stopAt } from './player-ink'
import type { Track } from './player-track'

describe('strokes', () => {
  it('a freehand line grows by what the eye can see, inside the picture', () => {
    let s = begin(point(0.5, 0.5), false, 2)
    s = draw(s, point(0.501, 0.5))
    expect(s.points).toHaveLength(1)
    s = draw(s, point(0.6, 1.7))
    expect(s.points).toEqual([{ x: 0.5, y: 0.5 }, { x: 0.6, y: 1 }])
    expect(finish(s)).toEqual(s)
  })

  it('a straight line has its two ends', () => {
    let s = begin(point(0, 0), true, 0)
    for (const x of [0.1, 0.4, 0.9]) s = draw(s, point(x, x))
    expect(s.points).toEqual([{ x: 0, y: 0 }, { x: 0.9, y: 0.9 }])
  })

  it('a touch without a move is no stroke', () => {
    expect(finish(begin(point(0.5, 0.5), false, 0))).toBeNull()
    expect(finish(draw(begin(point(0.5, 0.5), true, 0), point(0.5, 0.5)))).toBeNull()
  })

  it('ends where the server’s limits are', () => {
    let s = begin(point(0, 0), false, 0)
    for (let i = 0; i < 5_000; i++) s = draw(s, point((i % 2) * 0.5, (i % 100) / 100))
    expect(s.points).toHaveLength(2_000)
    expect(roomFor(Array.from({ length: 7 }, () => s))).toBe(true)
    expect(roomFor(Array.from({ length: 8 }, () => s))).toBe(false)
    const line = draw(begin(point(0, 0), true, 0), point(1, 1))
    expect([roomFor(Array(99).fill(line)), roomFor(Array(100).fill(line))]).toEqual([true, false])
  })

  it('is a path from its first to its last point', () => {
    const line = draw(begin(point(0, 0.5), true, 0), point(1, 0.25))
    expect(pathOf(line, 1600, 900)).toBe('M0.0 450.0L1600.0 225.0')
    let curve = begin(point(0, 0), false, 0)
    for (const x of [0.25, 0.5, 1]) curve = draw(curve, point(x, x))
    const d = pathOf(curve, 100, 100)
    expect(d).toMatch(/^M0.0 0.0Q25.0 25.0 /)
    expect(d).toMatch(/L100.0 100.0$/)
    expect(pathOf(begin(point(0.5, 0.5), false, 0), 100, 100)).toBe('M50.0 50.0l0.1 0')
    expect(pathOf({ straight: false, tone: 0, points: [] }, 1, 1)).toBe('')
  })
})

describe('when a drawing is shown', () => {
  const frames = Array.from({ length: 200 }, (_, k) => k * 20_000)
  const track: Track = { url: '', frames, start: 0, end: 4_000_000, first: 0, last: 199, session: 60_000_000, ppm: 0 }
  const saw = (uuid: string, at: number | null, recording: number | null): Observation => ({
    id: 1, uuid, ball_id: 1, coder_id: 7, coder: 'Asha', kind: 'drawing', at_us: at, until_us: null, group: '', term: '', wording: '',
    edition: 0, body: '', drawing: { strokes: [] }, recording_id: recording, made: '',
  })
  const kept = keptOn([saw('a', 61_000_000, 3), saw('b', 61_000_000, 4), saw('c', null, 3), saw('d', 62_000_000, null)], 3)
  const shown = (frame: number, playing: boolean, speed = 1) => showing(kept, track, frame, playing, speed).map((k) => k.uuid)

  it('belongs to one recording’s picture and has a time', () => {
    expect(kept.map((k) => k.uuid)).toEqual(['a', 'd'])
  })

  it('paused: on its own frame alone', () => {
    expect([shown(49, false), shown(50, false), shown(51, false)]).toEqual([[], ['a'], []])
  })

  it('playing: for a second of the viewer’s time', () => {
    expect([shown(49, true), shown(50, true), shown(100, true)]).toEqual([[], ['a'], ['a', 'd']])
    expect(shown(101, true)).toEqual(['d'])
    expect([shown(62, true, 1 / 4), shown(63, true, 1 / 4)]).toEqual([['a'], []])
  })

  it('play can stop at the first one that it comes past', () => {
    expect(stopAt(kept, track, 48, 52)).toBe(50)
    expect(stopAt(kept, track, 48, 120)).toBe(50)
    expect(stopAt(kept, track, 50, 60)).toBeNull() // it has stood there already
    expect(stopAt(kept, track, 199, 0)).toBeNull() // the loop
  })
})
