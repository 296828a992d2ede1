/** A drawing being made on one frame, until it is kept. No DOM: the pen's places are handed in. */
import type { Observation, Point, Stroke } from '../api/types'
import { begin, draw, finish, roomFor } from './player-ink'

/** The frame that is drawn on, and the drawing of mine that is there already. */
export interface Sheet {
  ball: number
  at: number
  recording: number
  there?: Observation
}

export class Ink {
  sheet = $state.raw<Sheet | null>(null)
  strokes = $state.raw<readonly Stroke[]>([])
  /** The stroke under the pen. */
  current = $state.raw<Stroke | null>(null)
  tone = $state(0)
  straight = $state(false)

  #keep: (sheet: Sheet, strokes: Stroke[]) => void

  /** `keep` is given what changed; no strokes: the drawing that was there is taken away. */
  constructor(keep: (sheet: Sheet, strokes: Stroke[]) => void) {
    this.#keep = keep
  }

  get on(): boolean {
    return this.sheet !== null
  }

  get full(): boolean {
    return !roomFor(this.strokes)
  }

  get all(): readonly Stroke[] {
    return this.current ? [...this.strokes, this.current] : this.strokes
  }

  start(sheet: Sheet): void {
    this.sheet = sheet
    this.strokes = sheet.there?.drawing?.strokes ?? []
    this.current = null
  }

  down(at: Point): void {
    if (this.on && !this.full) this.current = begin(at, this.straight, this.tone)
  }

  move(to: Point): void {
    if (this.current) this.current = draw(this.current, to)
  }

  up(): void {
    const done = this.current && finish(this.current)
    this.current = null
    if (done) this.strokes = [...this.strokes, done]
  }

  /** Takes the last stroke off. */
  undo(): void {
    if (this.current) this.current = null
    else this.strokes = this.strokes.slice(0, -1)
  }

  clear(): void {
    this.current = null
    this.strokes = []
  }

  /** Puts the pen down and keeps what was drawn. */
  done(): void {
    const sheet = this.sheet
    if (!sheet) return
    this.up()
    const strokes = [...this.strokes]
    this.throwAway()
    const before = sheet.there?.drawing?.strokes ?? []
    if (strokes.length !== before.length || strokes.some((s, i) => s !== before[i])) this.#keep(sheet, strokes)
  }

  /** Puts the pen down; nothing of this is kept. */
  throwAway(): void {
    this.sheet = this.current = null
    this.strokes = []
  }
}
