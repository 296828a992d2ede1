/**
 * Two screens for one picture: one in front, and one behind it that loads what comes next. A better file of the same
 * ball, another angle, or the next ball takes over only when its frame is there, so that nothing flashes.
 */
import type { Player, Screen } from './player.svelte'
import { middleOf, type Track } from './player-track'

export interface Slot {
  url: string
  track: Track | null
  /** ready: it shows `frame`, out of sight. shown: it is, or was, the player's to steer. */
  state: 'empty' | 'loading' | 'seeking' | 'ready' | 'shown' | 'failed'
  /** The frame sought, and shown once it is ready. */
  frame: number
  /** Counts tries: each is a new element. */
  tries: number
}

type Side = 0 | 1
const empty = (tries = 0): Slot => ({ url: '', track: null, state: 'empty', frame: 0, tries })

export class Deck {
  slots = $state<[Slot, Slot]>([empty(), empty()])
  front = $state<Side>(0)
  /** The picture in front is of the ball that is wanted. */
  visible = $state(false)

  #player: Player
  #screens: [Screen | null, Screen | null] = [null, null]
  #wanted = $state.raw<Track | null>(null)
  #ball = 0
  #spare: Track | null = null

  constructor(player: Player) {
    this.#player = player
  }

  /** What is wanted is still on its way. */
  get loading(): boolean {
    return this.#wanted !== null && !this.failed && (!this.visible || this.slots[this.front].url !== this.#wanted.url)
  }

  /** What is wanted can't be played. */
  get failed(): boolean {
    return this.slots.some((s) => s.state === 'failed' && s.url === this.#wanted?.url)
  }

  /** The element of a slot has come, or gone: null. */
  attach(i: Side, screen: Screen | null): void {
    this.#screens[i] = screen
  }

  /** Shows a track (null: nothing). Of the ball that is shown already the moment is kept. */
  want(track: Track | null, ball: number): void {
    const same = ball === this.#ball
    if (same && track?.url === this.#wanted?.url) return
    this.#ball = ball
    this.#wanted = track
    if (!same || !track) this.#hide()
    if (!track) return
    const there = ([this.front, this.#back] as const).find((i) => this.slots[i].url === track.url)
    // What was loaded ahead of time may not have known its recording's clock rate.
    if (there !== undefined) this.slots[there].track = track
    if (there === undefined) this.#load(this.#back, track)
    else if (this.slots[there].state === 'shown') this.#aim(there)
    else this.#proceed(there)
  }

  /** Loads a track behind the picture, for when it is wanted. */
  preload(track: Track | null): void {
    this.#spare = track
    if (!this.loading) this.#fill()
  }

  /** Tries again to load what failed. */
  again(): void {
    const i = this.slots[this.front].state === 'failed' ? this.front : this.#back
    if (this.#wanted) this.#load(i, this.#wanted, this.slots[i].tries + 1)
  }

  /** A slot's file can be sought. */
  loaded(i: Side): void {
    if (this.slots[i].state === 'loading') this.#aim(i)
  }

  /** A slot has done a seek. */
  sought(i: Side): void {
    const slot = this.slots[i]
    if (slot.state !== 'seeking') {
      const screen = this.#screens[i]
      if (screen && i === this.front) this.#player.sought(screen)
      return
    }
    slot.state = 'ready'
    this.#proceed(i)
  }

  /** A slot's file can't be played. */
  broken(i: Side): void {
    const slot = this.slots[i]
    if (!slot.url) return
    slot.state = 'failed'
    if (slot.url === this.#wanted?.url) this.#hide()
  }

  get #back(): Side {
    return this.front === 0 ? 1 : 0
  }

  #hide(): void {
    this.visible = false
    this.#player.clear()
  }

  #load(i: Side, track: Track, tries = this.slots[i].tries): void {
    this.slots[i] = { ...empty(tries), url: track.url, track, state: 'loading' }
  }

  /** The frame that a slot should show when it comes to the front. */
  #target(track: Track): number {
    return track.url === this.#wanted?.url ? this.#player.sameMoment(track) : track.first
  }

  #aim(i: Side): void {
    const slot = this.slots[i]
    const screen = this.#screens[i]
    if (!slot.track || !screen) return
    slot.frame = this.#target(slot.track)
    slot.state = 'seeking'
    screen.currentTime = middleOf(slot.track.frames, slot.frame) / 1e6
  }

  /** Brings a slot to the front if it is wanted and shows the right frame; else sees to it. */
  #proceed(i: Side): void {
    const slot = this.slots[i]
    const screen = this.#screens[i]
    if (slot.state !== 'ready' || !slot.track || !screen || slot.url !== this.#wanted?.url) return
    // While it plays the moment moves on; a jump back by some frames is not worth another wait.
    if (!this.#player.playing && slot.frame !== this.#target(slot.track)) {
      this.#aim(i)
      return
    }
    slot.state = 'shown'
    this.front = i
    this.visible = true
    this.#player.use(screen, slot.track, slot.frame)
    this.#fill()
  }

  #fill(): void {
    const back = this.#back
    const spare = this.#spare
    if (!spare) this.slots[back] = empty(this.slots[back].tries)
    else if (spare.url !== this.slots[this.front].url && spare.url !== this.slots[back].url) this.#load(back, spare)
  }
}
