/**
 * Pointers on a still: one puts or drags a point, two look closer. A point that is dragged moves as far as the finger
 * does, so that the finger need not lie on it. No DOM: places are shares of the window in which the still is seen.
 */
import type { Point } from '../api/types'
import { inPicture, panned, WHOLE, zoomed, type View } from './measure-view'
import type { PointBoard } from './point-board.svelte'

export class PadHand {
  view = $state.raw<View>(WHOLE)
  /** Where the loupe looks; null: put away. */
  eye = $state.raw<Point | null>(null)
  #board: PointBoard
  #down = new Map<number, Point>()
  #drag: { key: string; from: Point; at: Point; fresh: boolean } | null = null

  constructor(board: PointBoard) {
    this.#board = board
  }

  get dragging(): boolean {
    return this.#drag !== null
  }

  /** A pointer goes down on a point ("": on none). `still`: the picture is only looked at. */
  press(id: number, at: Point, key: string, still: boolean): void {
    const board = this.#board
    this.#down.set(id, at)
    if (this.#down.size === 2) {
      if (this.#drag?.fresh) board.undo()
      this.#drag = this.eye = null
      return
    }
    if (still) return
    const here = inPicture(this.view, at)
    if (key) {
      board.pick(key)
      board.keep()
      this.#drag = { key, from: here, at: board.placed[key]!, fresh: false }
    } else if (board.current) {
      board.move(board.current, here)
      this.#drag = { key: board.current, from: here, at: here, fresh: true }
    }
    this.look()
  }

  /** `ratio`: the window's width over its height; `hover`: a mouse that no button holds. */
  move(id: number, at: Point, ratio: number, hover: boolean): void {
    const before = this.#down.get(id)
    if (this.#down.size === 2 && before) {
      const other = [...this.#down.entries()].find(([k]) => k !== id)![1]
      const spread = (p: Point) => Math.hypot((p.x - other.x) * ratio, p.y - other.y)
      const mid = { x: (at.x + other.x) / 2, y: (at.y + other.y) / 2 }
      const closer = zoomed(this.view, spread(at) / Math.max(spread(before), 1e-3), mid)
      this.view = panned(closer, (at.x - before.x) / 2, (at.y - before.y) / 2)
      this.#down.set(id, at)
      return
    }
    const here = inPicture(this.view, at)
    const d = this.#drag
    if (d) {
      this.#board.move(d.key, { x: d.at.x + here.x - d.from.x, y: d.at.y + here.y - d.from.y }, false)
      this.eye = this.#board.placed[d.key] ?? null
    } else if (hover) this.eye = here
  }

  lift(id: number, mouse: boolean): void {
    this.#down.delete(id)
    if (!this.#drag) return
    if (this.#drag.fresh) this.#board.settle()
    this.#drag = null
    if (!mouse) this.eye = null
  }

  /** The loupe looks at the point in hand. */
  look(): void {
    this.eye = this.#board.placed[this.#board.current] ?? null
  }

  /** Closer or wider around the point in hand; 0: the whole picture. */
  zoom(by: number, at?: Point): void {
    const p = this.#board.placed[this.#board.current]
    const mid = at ?? (p && { x: (p.x - this.view.x) * this.view.scale, y: (p.y - this.view.y) * this.view.scale })
    this.view = by === 0 ? WHOLE : zoomed(this.view, by, mid)
  }
}
