/** Calibrating a camera: what is clicked and typed, what the server makes of it, and why it does not. No DOM. */
import { wordsOf, ApiError } from '../api/error'
import * as api from '../api/measuring'
import type { Box, Calibration, CalibrationInput, CalibrationSheet, CreaseMark, OwnMark, Point } from '../api/types'
import { PointBoard, type Wanted } from './point-board.svelte'

/** How many points are offered along the straight line that shows how the lens bends. */
export const LINE_POINTS = 6
const CORNERS = ['box-1', 'box-2'] as const
const lineKey = (i: number) => `line-${i + 1}`
const isMark = (key: string) => !key.startsWith('line-') && !key.startsWith('box-')

/** The box between two corners; null while one is missing or they lie on one line. */
export function boxOf(a: Point | undefined, b: Point | undefined): Box | null {
  if (!a || !b) return null
  const box = { x: Math.min(a.x, b.x), y: Math.min(a.y, b.y), width: Math.abs(a.x - b.x), height: Math.abs(a.y - b.y) }
  return box.width > 0.02 && box.height > 0.02 ? box : null
}

export class CalibrateDesk {
  readonly recording: number
  readonly board = new PointBoard()
  sheet = $state.raw<CalibrationSheet | null>(null)
  /** The still's time, on the recording's own clock. */
  at = $state(0)
  length = $state(0)
  edition = $state('')
  own = $state.raw<readonly OwnMark[]>([])
  /** Marks that are only of use when their place was taped, and the far end. */
  more = $state(false)
  /** What the clicks come to; null while there are too few, or they can't be used. */
  result = $state.raw<Calibration | null>(null)
  refusal = $state('')
  busy = $state(false)
  saving = $state(false)
  saved = $state.raw<Calibration | null>(null)
  problem = $state.raw<unknown>(null)
  #going: AbortController | null = null
  #kept = $state('') // what was kept last, as it was sent

  constructor(recording: number) {
    this.recording = recording
  }

  readonly marks: CreaseMark[] = $derived.by(() => (this.sheet?.marks ?? []).filter((m) => this.more || (!m.weak && m.set === 'strikers-end')))
  readonly clicked: number = $derived.by(() => Object.keys(this.board.placed).filter(isMark).length)
  readonly box: Box | null = $derived.by(() => boxOf(this.board.placed[CORNERS[0]], this.board.placed[CORNERS[1]]))
  readonly line: Point[] = $derived.by(() =>
    Array.from({ length: LINE_POINTS }, (_, i) => this.board.placed[lineKey(i)]).filter((p) => p !== undefined),
  )
  /** The mark in hand, where it is one of the Laws. */
  readonly mark: CreaseMark | undefined = $derived.by(() => (this.sheet?.marks ?? []).find((m) => m.key === this.board.current))
  readonly changed: boolean = $derived.by(() => this.#kept !== JSON.stringify(this.input()))

  async load(): Promise<void> {
    try {
      this.sheet = await api.calibration(this.recording)
      this.problem = null
      this.#take(this.sheet.calibration)
    } catch (err) {
      this.problem = err
    }
  }

  #take(c: Calibration | null): void {
    const placed: Record<string, Point> = {}
    if (c) {
      this.length = c.length_m ?? 0
      this.edition = c.edition ?? ''
      this.own = c.own ?? []
      this.at = c.at_us
      for (const k of c.clicks) placed[k.mark] = { x: k.x, y: k.y }
      c.straight?.[0]?.slice(0, LINE_POINTS).forEach((p, i) => (placed[lineKey(i)] = p))
      if (c.box) {
        placed[CORNERS[0]] = { x: c.box.x, y: c.box.y }
        placed[CORNERS[1]] = { x: c.box.x + c.box.width, y: c.box.y + c.box.height }
      }
      const first = new Set(this.marks.map((m) => m.key))
      this.more = c.clicks.some((k) => !first.has(k.mark) && !k.mark.startsWith('own-'))
    }
    this.saved = this.result = c
    this.board.start(this.wanted(), placed)
    if (c) this.#kept = JSON.stringify(this.input())
  }

  /** Everything that may be put on the picture, in the order in which it is asked for. */
  wanted(): Wanted[] {
    const ground = (m: CreaseMark) => m.use === 'fit' && !m.weak && m.set === 'strikers-end'
    return [
      ...this.marks.map((m) => ({ key: m.key, name: m.name, hint: m.click, optional: this.own.length > 3 || !ground(m) })),
      ...this.own.map((o) => ({ key: o.key, name: o.name, hint: 'the very point that was measured to', optional: false })),
      ...Array.from({ length: LINE_POINTS }, (_, i) => ({ key: lineKey(i), name: `Straight line, point ${i + 1}`, optional: true })),
      ...CORNERS.map((key, i) => ({ key, name: `Batter’s box, corner ${i + 1}`, optional: true })),
    ]
  }

  rewant(): void {
    this.board.want(this.wanted())
  }

  showMore(on: boolean): void {
    this.more = on
    this.rewant()
  }

  addOwn(points: readonly Omit<OwnMark, 'key'>[]): void {
    let n = Math.max(0, ...this.own.map((o) => Number(o.key.slice(4))))
    const added = points.map((p) => ({ ...p, key: `own-${++n}` }))
    this.own = [...this.own, ...added]
    this.rewant()
    this.board.pick(added[0]!.key)
  }

  dropOwn(key: string): void {
    this.board.clear(key)
    this.own = this.own.filter((o) => o.key !== key)
    this.rewant()
  }

  /** What is clicked and typed, as it travels. */
  input(): CalibrationInput {
    const { placed } = this.board
    const known = new Set([...(this.sheet?.marks ?? []).map((m) => m.key), ...this.own.map((o) => o.key)])
    return {
      at_us: this.at,
      edition: this.edition,
      length_m: this.length,
      own: [...this.own],
      clicks: Object.entries(placed).flatMap(([mark, p]) => (known.has(mark) ? [{ mark, x: p.x, y: p.y }] : [])),
      straight: this.line.length >= 3 ? [this.line] : [],
      box: this.box,
    }
  }

  /** Asks the server what the clicks come to. */
  async compute(): Promise<void> {
    this.#going?.abort()
    if (this.clicked < 4) {
      this.result = null
      this.refusal = ''
      return
    }
    const going = (this.#going = new AbortController())
    this.busy = true
    try {
      this.result = await api.tryCalibration(this.recording, this.input(), going.signal)
      this.refusal = ''
      this.problem = null
    } catch (err) {
      if (going.signal.aborted) return
      this.result = null
      if (err instanceof ApiError && err.status === 400) this.refusal = wordsOf(err)
      else this.problem = err
    } finally {
      if (this.#going === going) this.busy = false
    }
  }

  async save(): Promise<boolean> {
    this.saving = true
    try {
      const input = this.input()
      this.saved = this.result = await api.saveCalibration(this.recording, input)
      this.#kept = JSON.stringify(input)
      this.problem = null
      return true
    } catch (err) {
      if (err instanceof ApiError && err.status === 400) this.refusal = wordsOf(err)
      else this.problem = err
      return false
    } finally {
      this.saving = false
    }
  }
}
