import { beforeEach, describe, expect, it } from 'vitest'
import { FakeScreen } from './player-fakes'
import { Player, speedName } from './player.svelte'
import { frameAt, type Track } from './player-track'

// 50 a second, a lead-in of 10 frames, a ball of 100, and 10 more behind it.
const frames = Array.from({ length: 120 }, (_, k) => k * 20_000)
const track: Track = { url: '/a.mp4', frames, start: 200_000, end: 2_200_000, first: 10, last: 109, session: 60_000_000, ppm: 0 }

let screen: FakeScreen
let player: Player
const shown = () => frameAt(frames, screen.currentTime * 1e6)
/** The browser finishes a seek. */
const settle = () => player.sought(screen)
const present = (k: number) => player.presented(screen, frames[k]! / 1e6)

beforeEach(() => {
  screen = new FakeScreen()
  player = new Player()
  player.use(screen, track, track.first)
})

describe('frames', () => {
  it('counts the ball’s own frames and time', () => {
    expect([player.number, player.count, player.time, player.session]).toEqual([1, 100, 0, 60_000_000])
    player.seek(60)
    settle()
    expect([player.number, player.time, player.session]).toEqual([51, 1_000_000, 61_000_000])
  })

  it('steps to the next and the last frame and no further', () => {
    player.step(1)
    settle()
    expect([player.frame, shown()]).toEqual([11, 11])
    player.step(-5)
    settle()
    expect([player.frame, shown()]).toEqual([10, 10])
    player.seek(400)
    settle()
    expect(shown()).toBe(109)
  })

  it('keeps only the latest wish while a seek is on its way, and loses no step', () => {
    for (let i = 0; i < 5; i++) player.step(1)
    expect(screen.sought).toHaveLength(1)
    settle()
    expect(screen.sought).toHaveLength(2)
    settle()
    expect([player.frame, shown()]).toEqual([15, 15])
    expect(screen.sought).toHaveLength(2)
  })

  it('pausing stays on the frame last seen, not where the screen’s clock has run to', () => {
    player.play()
    present(42)
    screen.currentTime = 0.861
    player.pause()
    expect(screen.running).toBe(false)
    settle()
    expect([player.frame, shown()]).toEqual([42, 42])
  })

  it('a jump out of play takes one seek', () => {
    player.play()
    present(42)
    player.stopAt(61_000_000)
    expect([screen.running, screen.sought.length, shown()]).toEqual([false, 1, 60])
    player.play()
    player.step(1)
    settle()
    settle()
    expect([screen.sought.length, player.frame]).toEqual([2, 61])
  })

  it('believes the screen about what is shown', () => {
    player.play()
    present(33)
    expect(player.frame).toBe(33)
    player.presented(new FakeScreen(), 1)
    expect(player.frame).toBe(33)
  })
})

describe('the end of the ball', () => {
  it('loops from the last frame to the first, once', () => {
    player.play()
    present(109)
    expect(shown()).toBe(10)
    present(110) // one more frame drops in before the jump is done
    expect(screen.sought).toHaveLength(1)
    settle()
    expect([player.frame, player.playing, screen.running]).toEqual([10, true, true])
    present(11)
    expect(player.frame).toBe(11)
  })

  it('loops too when the last frame was dropped, or the file ended', () => {
    player.play()
    present(111)
    expect(shown()).toBe(10)
    settle()
    screen.running = false
    player.ended(screen)
    settle()
    expect([shown(), screen.running]).toEqual([10, true])
  })

  it('stops on the last frame without a loop and says so, once', () => {
    let told = 0
    player.onEnded = () => told++
    player.loop = false
    player.play()
    present(109)
    present(109)
    settle()
    expect([player.frame, player.playing, screen.running, told]).toEqual([109, false, false, 1])
    player.play()
    settle()
    expect([player.frame, screen.running]).toEqual([10, true])
  })

  it('without frame callbacks the screen’s clock has to do', () => {
    player.play()
    screen.currentTime = 1.01
    player.ticked(screen)
    expect(player.frame).toBe(50)
    screen.currentTime = 2.3
    player.ticked(screen)
    expect(shown()).toBe(10)
  })
})

describe('another file of the same ball', () => {
  it('goes on at the same moment, playing as before', () => {
    player.play()
    present(60)
    const smooth: Track = { ...track, url: '/b.mp4', frames: frames.slice(0, 101), start: 0, end: 2_000_000, first: 0, last: 99 }
    const other = new FakeScreen()
    player.use(other, smooth, player.sameMoment(smooth))
    expect([screen.running, other.running, player.frame, player.time]).toEqual([false, true, 50, 1_000_000])
  })

  it('another angle begins elsewhere on the session clock', () => {
    player.seek(60)
    settle()
    const angle: Track = { ...track, session: 60_500_000 }
    expect(player.sameMoment(angle)).toBe(35)
  })
})

describe('speed and sound', () => {
  it('goes through the speeds and stops at both ends', () => {
    expect([1 / 8, 1 / 4, 1 / 2, 1, 2].map(speedName)).toEqual(['1/8', '1/4', '1/2', '1', '2'])
    player.shift(1)
    player.shift(1)
    expect(screen.playbackRate).toBe(2)
    for (let i = 0; i < 9; i++) player.shift(-1)
    expect(screen.playbackRate).toBe(1 / 8)
    const other = new FakeScreen()
    player.use(other, track, 20)
    expect(other.playbackRate).toBe(1 / 8)
  })

  it('plays without sound when the browser refuses it, and says so', async () => {
    screen.refuse = 'sound'
    player.play()
    await Promise.resolve()
    await Promise.resolve()
    expect([screen.running, screen.muted, player.soundBlocked, player.playing]).toEqual([true, true, true, true])
    player.setMuted(false)
    expect([screen.muted, player.soundBlocked]).toEqual([false, false])
  })

  it('does not claim to play when the browser refuses that', async () => {
    screen.refuse = 'always'
    player.setMuted(true)
    player.play()
    await Promise.resolve()
    await Promise.resolve()
    expect(player.playing).toBe(false)
  })
})

it('plays by itself as soon as there is something to play', () => {
  const late = new Player()
  late.play()
  late.use(screen, track, track.first)
  expect(screen.running).toBe(true)
})
