/**
 * Named points put on a picture one after another: which is next, what lies where, and undo. Points are shares of the
 * picture's width and height. No DOM.
 */
import type { Point } from '../api/types'
import { clamp } from '../time/span'

export interface Wanted {
  key: string
  name: string
  /** Where exactly, in words. */
  hint?: string
  /** Not waited for: one can go on without it. */
  optional?: boolean
}

export type Placed = Readonly<Record<string, Point>>

const round = (v: number) => Math.round(clamp(v, 0, 1) * 1e6) / 1e6

export class PointBoard {
  wanted = $state.raw<readonly Wanted[]>([])
  placed = $state.raw<Placed>({})
  /** What was proposed and by whom, as long as the points come from a proposal; kept beside what was corrected. */
  proposed = $state.raw<Placed>({})
  /** The point that the next press puts down and arrow keys move; "" when all are there. */
  current = $state('')
  /** Counts changes: what was computed for an earlier count is stale. */
  revision = $state(0)
  #past = $state.raw<readonly { placed: Placed; current: string }[]>([])

  readonly canUndo: boolean = $derived.by(() => this.#past.length > 0)
  /** All that must be there is there. */
  readonly complete: boolean = $derived.by(() => this.wanted.every((w) => w.optional || this.placed[w.key] !== undefined))
  readonly count: number = $derived.by(() => Object.keys(this.placed).length)

  /** Begins anew: these are wanted, and these are there already. */
  start(wanted: readonly Wanted[], placed: Placed = {}, proposed: Placed = {}): void {
    this.wanted = wanted
    this.placed = placed
    this.proposed = proposed
    this.#past = []
    this.revision++
    this.current = this.#next('')
  }

  /** Other points are wanted; what is there stays. */
  want(wanted: readonly Wanted[]): void {
    this.wanted = wanted
    if (!wanted.some((w) => w.key === this.current)) this.current = this.#next('')
  }

  nameOf(key: string): string {
    return this.wanted.find((w) => w.key === key)?.name ?? key
  }

  pick(key: string): void {
    if (this.wanted.some((w) => w.key === key)) this.current = key
  }

  /** One point on (1) or back (-1) in the order in which they are wanted. */
  walk(by: 1 | -1): void {
    if (this.wanted.length === 0) return
    const at = this.wanted.findIndex((w) => w.key === this.current)
    this.current = this.wanted[(at + by + this.wanted.length) % this.wanted.length]!.key
  }

  /** Puts the current point down; `go` on to the next that is not there. */
  place(at: Point, go = true): void {
    if (this.current) this.move(this.current, at)
    if (go) this.settle()
  }

  /** The point in hand is where it should be: on to the next that is not there. */
  settle(): void {
    if (this.current) this.current = this.#next(this.current) || this.current
  }

  /** Moves a point. `step`: a step of its own for undo; a drag makes one of many moves. */
  move(key: string, at: Point, step = true): void {
    if (step) this.keep()
    this.placed = { ...this.placed, [key]: { x: round(at.x), y: round(at.y) } }
    this.revision++
  }

  /** Remembers how things lie, for undo. */
  keep(): void {
    this.#past = [...this.#past.slice(-199), { placed: this.placed, current: this.current }]
  }

  /** Moves the current point by shares of the picture. */
  nudge(dx: number, dy: number): void {
    const p = this.placed[this.current]
    if (p) this.move(this.current, { x: p.x + dx, y: p.y + dy })
  }

  /** Takes a point away. */
  clear(key: string): void {
    if (!this.placed[key]) return
    this.keep()
    const { [key]: _, ...rest } = this.placed
    this.placed = rest
    this.current = key
    this.revision++
  }

  undo(): void {
    const last = this.#past.at(-1)
    if (!last) return
    this.#past = this.#past.slice(0, -1)
    this.placed = last.placed
    this.current = last.current
    this.revision++
  }

  /** Whether a point lies where it was proposed. */
  asProposed(key: string): boolean {
    const [p, q] = [this.placed[key], this.proposed[key]]
    return p !== undefined && q !== undefined && p.x === q.x && p.y === q.y
  }

  /** The next wanted point after one that is not there; what may be left out comes last. */
  #next(after: string): string {
    const from = this.wanted.findIndex((w) => w.key === after) + 1
    const order = [...this.wanted.slice(from), ...this.wanted.slice(0, from)].filter((w) => this.placed[w.key] === undefined)
    return (order.find((w) => !w.optional) ?? order[0])?.key ?? ''
  }
}
