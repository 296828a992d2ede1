/**
 * A clip being looked at: which of its frames is shown, playing, speed, looping. It steers a screen (a <video>, or a
 * fake in tests) and believes only what the screen says was shown: seeks may be late, and play drops frames.
 */
import { clamp } from '../time/span'
import type { Steered } from './player-steer'
import { frameAt, frameOf, lengthOf, markOf, middleOf, nearestFrame, sessionOf, timeAt, timeOf, type Mark, type Track } from './player-track'

/** What the player needs of a <video>. Times are in seconds, on the file's own clock. */
export interface Screen {
  currentTime: number
  playbackRate: number
  muted: boolean
  play(): Promise<void>
  pause(): void
}

export const SPEEDS = [1 / 8, 1 / 4, 1 / 2, 1, 2] as const

/** A speed as people read it: "1/4". */
export const speedName = (s: number): string => (s < 1 ? `1/${Math.round(1 / s)}` : String(s))

export class Player implements Steered {
  /** What is loaded; null while there is nothing to show. */
  track = $state.raw<Track | null>(null)
  /** The frame on display, an index into track.frames. */
  frame = $state(0)
  /** What the person wants; the screen follows. */
  playing = $state(false)
  speed = $state(1)
  loop = $state(true)
  muted = $state(false)
  /** Sound was asked for, but the browser wants a touch or a key first. */
  soundBlocked = $state(false)
  onEnded: (() => void) | undefined

  #screen: Screen | null = null
  /** The frame sought, while a seek is on its way; a later wish waits in #next. */
  #seeking: number | null = null
  #next: number | null = null
  #pull = 1

  /** Time since the ball's start, µs. */
  get time(): number {
    return this.track ? timeOf(this.track, this.frame) : 0
  }

  /** The moment on display, on the session clock. */
  get session(): number {
    return this.track ? sessionOf(this.track, this.time) : 0
  }

  get length(): number {
    return this.track ? lengthOf(this.track) : 0
  }

  /** The ball's frames are numbered from 1. */
  get number(): number {
    return this.track ? this.frame - this.track.first + 1 : 0
  }

  get count(): number {
    return this.track ? this.track.last - this.track.first + 1 : 0
  }

  get first(): boolean {
    return this.frame <= (this.track?.first ?? 0)
  }

  get last(): boolean {
    return this.frame >= (this.track?.last ?? 0)
  }

  get ready(): boolean {
    return this.track !== null
  }

  get share(): number {
    return this.track && this.count > 1 ? (this.number - 1) / (this.count - 1) : 0
  }

  get silent(): boolean {
    return this.muted || this.soundBlocked
  }

  /** Takes over a screen that has the track loaded and shows its frame k. */
  use(screen: Screen, track: Track, k: number): void {
    if (this.#screen && this.#screen !== screen) this.#screen.pause()
    this.#screen = screen
    this.#seeking = this.#next = null
    this.track = track
    this.frame = clamp(k, track.first, track.last)
    screen.playbackRate = this.speed * this.#pull
    screen.muted = this.muted
    if (this.playing) this.#start()
  }

  /** The screen itself, for whoever copies the picture off it. */
  get screen(): Screen | null {
    return this.#screen
  }

  /** Whether the frame that is named is the one on display: no seek is on its way. */
  get settled(): boolean {
    return this.#seeking === null && this.#next === null
  }

  /** Lets go of everything: the ball has no picture, or the page is left. */
  clear(): void {
    this.#screen?.pause()
    this.#screen = this.track = this.#seeking = this.#next = null
    this.frame = 0
  }

  /** The frame to go on with in another file or angle of the same ball: the same moment. */
  sameMoment(track: Track): number {
    return this.track ? frameOf(track, timeAt(track, this.session)) : track.first
  }

  play(): void {
    if (!this.track) {
      this.playing = true // as soon as there is something
      return
    }
    if (this.#wanted >= this.track.last && !this.loop) this.seek(this.track.first)
    this.playing = true
    this.#start()
  }

  /**
   * Stops on the very frame that was seen last, or on frame k. With one seek, not two: Chromium goes on showing an
   * old picture for a while when a second seek follows on a pause at once.
   */
  pause(k?: number): void {
    if (!this.playing && k === undefined) return
    this.playing = false
    this.#screen?.pause()
    if (this.track) this.seek(k ?? this.#wanted)
  }

  toggle(): void {
    if (this.playing) this.pause()
    else this.play()
  }

  /** Pauses and moves by n frames of the ball. */
  step(n: number): void {
    this.pause(this.#wanted + n)
  }

  /** Shows a frame of the ball. While a seek is on its way only the latest wish is kept. */
  seek(k: number): void {
    if (!this.track) return
    const to = clamp(k, this.track.first, this.track.last)
    if (this.#seeking === null) this.#send(to)
    else this.#next = to
  }

  /** Goes to a time since the ball's start. */
  seekTime(time: number): void {
    if (this.track) this.seek(frameOf(this.track, time))
  }

  /** Goes to a moment of the session clock. */
  seekSession(at: number): void {
    if (this.track) this.seekTime(timeAt(this.track, at))
  }

  /** Stops at a moment of the session clock. */
  stopAt(at: number): void {
    if (this.track) this.pause(frameOf(this.track, timeAt(this.track, at)))
  }

  toShare(x: number): void {
    if (this.track) this.seekTime(x * timeOf(this.track, this.track.last))
  }

  toEnd(end: 'first' | 'last'): void {
    if (this.track) this.seek(this.track[end])
  }

  markOf(at: number, until: number | null = null): Mark | null {
    return this.track && markOf(this.track, at, until)
  }

  setSpeed(speed: number): void {
    this.speed = speed
    if (this.#screen) this.#screen.playbackRate = speed * this.#pull
  }

  /** Plays this much faster than its speed says, to catch up with another clip; 1 is not at all. */
  pull(by: number): void {
    if (by === this.#pull) return
    this.#pull = by
    this.setSpeed(this.speed)
  }

  /** One speed up (1) or down (-1). */
  shift(by: 1 | -1): void {
    const at = SPEEDS.findIndex((s) => s >= this.speed - 1e-9)
    this.setSpeed(SPEEDS[clamp((at < 0 ? SPEEDS.length - 1 : at) + by, 0, SPEEDS.length - 1)]!)
  }

  setMuted(muted: boolean): void {
    this.muted = muted
    this.soundBlocked = false
    if (this.#screen) this.#screen.muted = muted
  }

  /** The screen has put a frame up; mediaTime is that frame's time in seconds. */
  presented(screen: Screen, mediaTime: number): void {
    if (screen === this.#screen && this.track) this.#shows(nearestFrame(this.track.frames, mediaTime * 1e6))
  }

  /** For screens that can't name the frame: where the screen's clock stands. */
  ticked(screen: Screen): void {
    if (screen === this.#screen && this.track) this.#shows(frameAt(this.track.frames, screen.currentTime * 1e6))
  }

  /** The screen has done a seek. */
  sought(screen: Screen): void {
    if (screen !== this.#screen || !this.track) return
    const done = this.#seeking
    const next = this.#next
    this.#seeking = this.#next = null
    if (done !== null) this.frame = done
    if (next !== null && next !== done) this.#send(next)
  }

  /** The file has come to its own end. */
  ended(screen: Screen): void {
    if (screen === this.#screen) this.#atEnd()
  }

  /** The frame on display once all seeks are done. */
  get #wanted(): number {
    return this.#next ?? this.#seeking ?? this.frame
  }

  #shows(k: number): void {
    if (!this.track) return
    // Frames from before a jump still drop in until it is done.
    if (this.#seeking !== null) {
      if (k === this.#seeking) this.frame = k
      return
    }
    this.frame = clamp(k, this.track.first, this.track.last)
    if (this.playing && k >= this.track.last) this.#atEnd()
  }

  #atEnd(): void {
    if (!this.track || !this.playing || this.#seeking === this.track.first) return
    if (this.loop) {
      this.seek(this.track.first)
      this.#start() // a file that has ended stands still
      return
    }
    this.pause(this.track.last)
    this.onEnded?.()
  }

  #send(k: number): void {
    if (!this.#screen || !this.track) return
    this.#seeking = k
    this.#screen.currentTime = middleOf(this.track.frames, k) / 1e6
  }

  #start(): void {
    const screen = this.#screen
    screen?.play().catch((err: unknown) => {
      if (screen !== this.#screen || !(err instanceof Error)) return
      // AbortError: a pause or another file came in between, as wanted.
      if (err.name !== 'NotAllowedError') return
      if (screen.muted) {
        this.playing = false
        return
      }
      this.soundBlocked = true
      screen.muted = true
      this.#start()
    })
  }
}
