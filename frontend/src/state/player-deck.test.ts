import { beforeEach, expect, it } from 'vitest'
import { Deck } from './player-deck.svelte'
import { Player, type Screen } from './player.svelte'
import { frameAt, type Track } from './player-track'

class FakeScreen implements Screen {
  currentTime = 0
  playbackRate = 1
  muted = false
  running = false
  play(): Promise<void> {
    this.running = true
    return Promise.resolve()
  }
  pause(): void {
    this.running = false
  }
}

const frames = Array.from({ length: 100 }, (_, k) => k * 20_000)
const track = (url: string, more: Partial<Track> = {}): Track => ({
  url, frames, start: 200_000, end: 1_800_000, first: 10, last: 89, session: 5_000_000, ppm: 0, ...more,
})
const quick = track('/quick')
const smooth = track('/smooth', { start: 0, end: 1_600_000, first: 0, last: 79 })
const other = track('/other')

let player: Player
let deck: Deck
let screens: [FakeScreen, FakeScreen]
const back = () => (deck.front === 0 ? 1 : 0)
const at = (i: 0 | 1) => frameAt(frames, screens[i].currentTime * 1e6)
/** The slot's file arrives and its seek is done. */
const arrive = (i: 0 | 1) => {
  deck.loaded(i)
  deck.sought(i)
}

beforeEach(() => {
  player = new Player()
  deck = new Deck(player)
  screens = [new FakeScreen(), new FakeScreen()]
  deck.attach(0, screens[0])
  deck.attach(1, screens[1])
})

it('shows a ball from its first frame, once that is there', () => {
  deck.want(quick, 1)
  expect([deck.visible, deck.loading]).toEqual([false, true])
  const i = back()
  deck.loaded(i)
  expect([deck.visible, at(i)]).toEqual([false, 10])
  deck.sought(i)
  expect([deck.visible, deck.loading, deck.front, player.frame]).toEqual([true, false, i, 10])
})

it('the smooth file takes over at the same moment, and not before its frame is there', () => {
  deck.want(quick, 1)
  arrive(back())
  player.play()
  player.presented(screens[deck.front], 0.8)
  const before = deck.front
  deck.want(smooth, 1)
  expect([deck.visible, deck.front, player.track?.url]).toEqual([true, before, '/quick'])
  deck.loaded(back())
  expect([at(back()), deck.front]).toEqual([30, before])
  deck.sought(back())
  expect([deck.front, player.track?.url, player.number]).toEqual([before === 0 ? 1 : 0, '/smooth', 31])
  expect(screens.map((s) => s.running)).toEqual(before === 0 ? [false, true] : [true, false])
})

it('steps made while the better file comes are not lost', () => {
  deck.want(quick, 1)
  arrive(back())
  deck.want(smooth, 1)
  deck.loaded(back())
  player.step(1)
  deck.sought(deck.front)
  deck.sought(back())
  expect(player.track?.url).toBe('/quick')
  expect(at(back())).toBe(1)
  deck.sought(back())
  expect([player.track?.url, player.number]).toEqual(['/smooth', 2])
})

it('the next ball is loaded behind, and comes at once', () => {
  deck.want(quick, 1)
  deck.preload(other)
  arrive(back())
  arrive(back())
  expect([deck.slots[back()].url, deck.slots[back()].state, deck.slots[deck.front].url]).toEqual(['/other', 'ready', '/quick'])
  deck.want(other, 2)
  expect([deck.visible, player.track?.url, player.frame]).toEqual([true, '/other', 10])
})

it('never shows one ball under another’s name', () => {
  deck.want(quick, 1)
  arrive(back())
  deck.want(other, 2)
  expect([deck.visible, player.track]).toEqual([false, null])
  deck.want(quick, 1)
  expect(deck.visible).toBe(false)
  deck.sought(deck.front)
  expect([deck.visible, player.track?.url, player.frame]).toEqual([true, '/quick', 10])
})

it('a ball without a file shows nothing', () => {
  deck.want(quick, 1)
  arrive(back())
  deck.want(null, 2)
  expect([deck.visible, deck.loading, player.track]).toEqual([false, false, null])
})

it('says when a file can’t be played, and tries again with a new element', () => {
  deck.want(quick, 1)
  const i = back()
  deck.broken(i)
  expect([deck.failed, deck.loading]).toEqual([true, false])
  deck.again()
  expect([deck.failed, deck.slots[i].tries, deck.loading]).toEqual([false, 1, true])
  arrive(i)
  expect(deck.visible).toBe(true)
})

it('a file that breaks behind the picture does not disturb it', () => {
  deck.want(quick, 1)
  deck.preload(other)
  arrive(back())
  deck.broken(back())
  expect([deck.visible, deck.failed]).toEqual([true, false])
  deck.want(other, 2)
  expect(deck.failed).toBe(true)
})
