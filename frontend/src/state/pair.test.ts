import { beforeEach, describe, expect, it } from 'vitest'
import { Pair } from './pair.svelte'
import { FakeScreen } from './player-fakes'
import { frameAt, type Track } from './player-track'

// 50 a second. Left: 100 frames, struck on the 50th. Right: 90 frames, struck on the 30th.
const frames = (n: number) => Array.from({ length: n }, (_, k) => k * 20_000)
const track = (n: number, session: number): Track => ({ url: `/${n}`, frames: frames(n), start: 0, end: n * 20_000, first: 0, last: n - 1, session, ppm: 0 })
const tracks = [track(100, 60_000_000), track(90, 5_000_000)] as const

let pair: Pair
let screens: [FakeScreen, FakeScreen]
const shown = () => screens.map((s, i) => frameAt(tracks[i]!.frames, s.currentTime * 1e6))
/** The browser finishes what was asked of it. */
const settle = () => pair.players.forEach((p, i) => (p.sought(screens[i]!), p.sought(screens[i]!)))
/** A screen puts a frame up. */
const present = (i: 0 | 1, k: number) => {
  pair.players[i].presented(screens[i], tracks[i].frames[k]! / 1e6)
  pair.heard()
}
const running = () => screens.map((s) => s.running)

beforeEach(() => {
  pair = new Pair()
  screens = [new FakeScreen(), new FakeScreen()]
  pair.players.forEach((p, i) => {
    p.onEnded = () => pair.ended()
    p.use(screens[i]!, tracks[i]!, 0)
  })
  pair.lineUp(61_000_000, 5_600_000)
  settle()
})

describe('paused', () => {
  it('shows contact in both, and steps both', () => {
    expect([shown(), pair.time, pair.number, pair.count]).toEqual([[50, 30], 0, 51, 110])
    pair.step(1)
    settle()
    expect(shown()).toEqual([51, 31])
    for (let i = 0; i < 4; i++) pair.step(-1)
    settle()
    expect([shown(), pair.time]).toEqual([[47, 27], -60_000])
  })

  it('holds the first frame of the one that begins later, and the last of the one that ends sooner', () => {
    pair.toEnd('first')
    settle()
    expect([shown(), pair.first, pair.share]).toEqual([[0, 0], true, 0])
    pair.toEnd('last')
    settle()
    expect([shown(), pair.last, pair.share]).toEqual([[99, 89], true, 1])
    pair.step(1)
    expect(pair.last).toBe(true)
  })

  it('goes to a place on the scrubber, where contact is marked', () => {
    expect(pair.markOf(0)).toEqual({ at: 50 / 109, until: null })
    pair.toShare(60 / 109)
    settle()
    expect(shown()).toEqual([60, 40])
  })

  it('moves the right one alone when it is nudged, and keeps that while stepping', () => {
    pair.nudge(3)
    settle()
    expect(shown()).toEqual([50, 33])
    pair.step(1)
    settle()
    expect(shown()).toEqual([51, 34])
    pair.lineUp(61_000_000, 5_600_000)
    settle()
    expect(shown()).toEqual([50, 30])
  })

  it('a better file takes the same place', () => {
    pair.step(5)
    settle()
    const better = new FakeScreen()
    pair.players[1].use(better, { ...tracks[1], url: '/better' }, 0)
    pair.align()
    pair.players[1].sought(better)
    expect(frameAt(tracks[1].frames, better.currentTime * 1e6)).toBe(35)
  })
})

describe('playing', () => {
  it('the one that begins later waits for its turn', () => {
    pair.toEnd('first')
    settle()
    pair.play()
    expect(running()).toEqual([true, false])
    present(0, 19)
    expect(running()).toEqual([true, false])
    present(0, 20)
    expect(running()).toEqual([true, true])
  })

  it('pauses both on the same beat, wherever the other has run to', () => {
    pair.play()
    present(0, 60)
    present(1, 42)
    pair.pause()
    settle()
    expect([shown(), running(), pair.time]).toEqual([[60, 40], [false, false], 200_000])
  })

  it('the other is pulled back beside the one that leads, and let go when it is there', () => {
    pair.setSpeed(0.5)
    pair.play()
    present(0, 55)
    present(1, 38) // three frames ahead
    expect(screens.map((s) => s.playbackRate)).toEqual([0.5, 0.45])
    present(1, 37)
    present(0, 57)
    expect(screens[1].playbackRate).toBe(0.5)
    present(0, 62) // five frames behind
    expect(screens[1].playbackRate).toBe(0.55)
  })

  it('one that is far off jumps', () => {
    pair.play()
    present(1, 31)
    present(0, 70)
    expect(shown()[1]).toBe(50)
    expect(screens[1].playbackRate).toBe(1)
  })

  it('goes on with the other when one has ended, then begins anew', () => {
    pair.toEnd('last')
    settle()
    pair.play()
    settle()
    expect(shown()).toEqual([0, 0])
    present(0, 98) // the other starts, late
    settle()
    present(0, 99)
    expect([pair.playing, running()]).toEqual([true, [false, true]])
    present(1, 85)
    expect(pair.time).toBe(55 * 20_000)
    present(1, 89)
    settle()
    expect([shown(), pair.playing, running()]).toEqual([[0, 0], true, [true, false]])
  })

  it('stops at the end without a loop', () => {
    pair.loop = false
    pair.stopAt(940_000)
    settle()
    pair.play()
    present(0, 99)
    present(1, 89)
    settle()
    expect([pair.playing, shown(), pair.last]).toEqual([false, [99, 89], true])
  })

  it('a picture that is taken away does not play when the next one comes', () => {
    pair.play()
    pair.players[1].clear()
    pair.lineUp(61_000_000, 0)
    const next = new FakeScreen()
    pair.players[1].use(next, tracks[1], 0)
    expect([next.running, pair.playing]).toEqual([false, false])
  })

  it('is silent', () => expect(screens.map((s) => s.muted)).toEqual([true, true]))
})
