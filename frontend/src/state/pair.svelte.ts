/**
 * Two clips steered as one, lined up at an event: one play and pause, one speed, one step, one scrubber. Paused, both
 * show the frames of the very same beat. Playing, each runs by itself and the one that does not lead is kept beside the
 * other: two screens never start together.
 */
import { clamp } from '../time/span'
import { beatsOf, fromEvent, gapOf, leader, moves, nearestBeat, shownAt, sideOf, type Side } from './pair-beats'
import type { Steered } from './player-steer'
import { Player } from './player.svelte'
import type { Mark } from './player-track'

/** Further apart than this, µs, no catching up helps: the one behind jumps. */
const FAR = 250_000
/** How much faster or slower the other plays to come back beside the one that leads. */
const CATCH_UP = 0.1

export class Pair implements Steered {
  readonly players = [new Player(), new Player()] as const
  /** When the event is, left and right, on their sessions' clocks. */
  events = $state.raw<readonly [number, number]>([0, 0])
  /** Frames by which the right event was moved by hand. */
  shift = $state(0)
  loop = $state(true)
  playing = $state(false)
  speed = $state(1)
  #at = $state(0)

  /** Those of which there is a picture, left before right. */
  readonly sides = $derived.by((): Side[] =>
    this.players.flatMap((p, i) => (p.track ? [sideOf(p.track, this.events[i]!, i === 1 ? this.shift : 0)] : [])),
  )
  readonly beats = $derived(beatsOf(this.sides))
  readonly #index = $derived(this.beats.length > 0 ? nearestBeat(this.beats, this.#at) : 0)

  constructor() {
    this.players.forEach((p) => {
      p.loop = false
      p.setMuted(true) // two bats at once are a noise
    })
  }

  get ready(): boolean {
    return this.beats.length > 0
  }

  get time(): number {
    return this.beats[this.#index] ?? 0
  }

  get number(): number {
    return this.ready ? this.#index + 1 : 0
  }

  get count(): number {
    return this.beats.length
  }

  get first(): boolean {
    return this.#index === 0
  }

  get last(): boolean {
    return this.#index >= this.count - 1
  }

  get share(): number {
    return this.markOf(this.time)?.at ?? 0
  }

  markOf(at: number, until: number | null = null): Mark | null {
    const [begin, end] = [this.beats[0] ?? 0, this.beats.at(-1) ?? 0]
    if (end <= begin || (until ?? at) < begin || at > end) return null
    const share = (t: number) => clamp((t - begin) / (end - begin), 0, 1)
    return { at: share(at), until: until === null ? null : share(until) }
  }

  play(): void {
    if (!this.ready) return
    this.playing = true
    this.#run(this.last ? this.beats[0]! : this.time)
  }

  pause(): void {
    if (this.playing) this.#stop(this.#at)
  }

  toggle(): void {
    if (this.playing) this.pause()
    else this.play()
  }

  step(n: number): void {
    if (!this.ready) return
    this.#stop(this.beats[clamp(this.#index + n, 0, this.count - 1)]!)
  }

  stopAt(at: number): void {
    if (this.ready) this.#stop(at)
  }

  toShare(x: number): void {
    const [begin, end] = [this.beats[0] ?? 0, this.beats.at(-1) ?? 0]
    this.stopAt(begin + x * (end - begin))
  }

  toEnd(end: 'first' | 'last'): void {
    this.stopAt((end === 'first' ? this.beats[0] : this.beats.at(-1)) ?? 0)
  }

  setSpeed(speed: number): void {
    this.speed = speed
    this.players.forEach((p) => p.setSpeed(speed))
  }

  /** One speed up (1) or down (-1). */
  faster(by: 1 | -1): void {
    this.players[0].shift(by)
    this.setSpeed(this.players[0].speed)
  }

  /** Lines both up at another event and shows it. */
  lineUp(left: number, right: number): void {
    this.events = [left, right]
    this.shift = 0
    this.#stop(0)
  }

  /** Moves the right clip against the left one by frames of its own. */
  nudge(frames: number): void {
    this.shift += frames
    this.align()
  }

  /** A picture has come, or is another one: it shows what it should at this time. To be called when `sides` change. */
  align(): void {
    if (this.playing) this.#run(this.#at)
    else this.#stop(this.#at)
  }

  /** A player shows another frame. To be called when one does. */
  heard(): void {
    if (!this.playing || !this.ready) return
    const runs = (side: Side) => this.#of(side).playing && this.#of(side).settled
    const lead = this.#led().find(runs)
    if (!lead) return
    this.#at = fromEvent(lead, this.#of(lead).frame)
    for (const side of this.sides) {
      if (side !== lead) this.#keep(side)
    }
  }

  /** A player has come to its end. The other may have some way to go. */
  ended(): void {
    if (!this.playing || this.players.some((p) => p.playing)) return
    const [begin, end] = [this.beats[0], this.beats.at(-1)]
    if (begin === undefined || end === undefined) return
    if (this.loop) this.#run(begin)
    else this.#stop(end)
  }

  #of(side: Side): Player {
    return this.players[0].track === side.track ? this.players[0] : this.players[1]
  }

  /** The sides, the one that leads first. */
  #led(): Side[] {
    return leader(this.sides) === 0 ? this.sides : this.sides.toReversed()
  }

  #stop(at: number): void {
    this.playing = false
    if (this.ready) this.#at = this.beats[nearestBeat(this.beats, at)]!
    for (const player of this.players) {
      const side = this.sides.find((s) => s.track === player.track)
      player.pull(1)
      player.pause(side && shownAt(side, this.#at))
    }
  }

  #run(from: number): void {
    this.#at = from
    for (const side of this.sides) this.#show(side)
  }

  /** Puts a side where it should be, playing if it has something to play. */
  #show(side: Side): void {
    const player = this.#of(side)
    const k = shownAt(side, this.#at)
    if (!player.settled || player.frame !== k) player.seek(k)
    if (moves(side, this.#at)) player.play()
  }

  /** Keeps a side beside the one that leads. */
  #keep(side: Side): void {
    const player = this.#of(side)
    if (!player.playing) {
      if (player.first && moves(side, this.#at)) this.#show(side) // it has waited; one at its end has done its part
      return
    }
    if (!player.settled) return
    const ahead = fromEvent(side, player.frame) - this.#at
    const close = Math.max(...this.sides.map(gapOf))
    if (Math.abs(ahead) > FAR) player.seek(shownAt(side, this.#at))
    player.pull(Math.abs(ahead) <= close || Math.abs(ahead) > FAR ? 1 : 1 - Math.sign(ahead) * CATCH_UP)
  }
}
