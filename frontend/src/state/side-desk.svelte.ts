/** Two balls being looked at together: which pictures of them, lined up at what, beside each other or one over the other. */
import { sideBySide } from '../api/balls'
import { calibration } from '../api/measuring'
import type { Clip, Point, PlaylistItem, SideBySide } from '../api/types'
import { eventsOf, type PairEvent } from './pair-events'
import { AS_IT_IS, inBox, laidOn, sameMarks, type Fit } from './pair-ghost'
import { Pair } from './pair.svelte'
import { clipOf } from './reel-watch'

/** How the right picture was laid on the left one, by their recordings: cameras stand still from ball to ball. */
const fits = new Map<string, Fit>()

/** The clip of the right ball that is best held against one of the left: another one of the same ball, else the same camera's. */
export function clipBeside(item: PlaylistItem | undefined, left: Clip | null): Clip | null {
  const shown = item?.ball.clips.filter((c) => c.file) ?? []
  const another = shown.find((c) => c.id !== left?.id)
  if (shown.some((c) => c.id === left?.id) && another) return another
  return clipOf(item, left?.camera ?? null)
}

export class SideDesk {
  readonly pair = new Pair()
  found = $state.raw<SideBySide | null>(null)
  problem = $state.raw<unknown>(null)
  /** The right picture lies over the left one. */
  over = $state(false)
  /** How much of the right picture is seen then, 0 to 1. */
  seen = $state(0.5)
  ratios = $state<[number, number]>([16 / 9, 16 / 9])
  #recordings = $state.raw<readonly [number?, number?]>([])
  #event = $state('')
  #fits = $state.raw<{ key: string; fit: Fit }>({ key: '', fit: AS_IT_IS })
  #marks = $state.raw<{ key: string; pairs: [Point, Point][] }>({ key: '', pairs: [] })

  readonly items = $derived(this.found ? ([this.found.left, this.found.right] as const) : null)
  readonly clips = $derived.by((): [Clip | null, Clip | null] => {
    const chosen = (i: 0 | 1) => this.items?.[i].ball.clips.find((c) => c.recording_id === this.#recordings[i])
    const left = chosen(0) ?? clipOf(this.items?.[0], null)
    return [left, chosen(1) ?? clipBeside(this.items?.[1], left)]
  })
  readonly events = $derived<PairEvent[]>(this.items ? eventsOf(this.items[0].ball, this.items[1].ball) : [])
  readonly event = $derived(this.events.find((e) => e.key === this.#event) ?? this.events[0])

  /** Names the two pictures. */
  readonly #key = $derived(this.clips.map((c) => c?.recording_id).join('/'))
  readonly fit = $derived(this.#fits.key === this.#key ? this.#fits.fit : (fits.get(this.#key) ?? AS_IT_IS))
  /** Marks that were clicked in both pictures, right and left, once they are known; two or more can be laid on each other. */
  readonly marks = $derived(this.#marks.key === this.#key ? this.#marks.pairs : [])

  /** Fetches two balls, again if they are shown already: better clips or new measures have come. */
  async load(left: number, right: number): Promise<void> {
    try {
      const found = await sideBySide(left, right)
      const same = this.items?.[0].ball.id === left && this.items[1].ball.id === right
      const before = this.event
      this.found = found
      this.problem = null
      if (!same) this.#recordings = []
      const now = this.event
      if (!same || now?.left !== before?.left || now?.right !== before?.right) this.lineUp(now?.key ?? '')
    } catch (err) {
      this.problem = err
    }
  }

  look(side: 0 | 1, recording: number): void {
    const [left, right] = this.clips.map((c) => c?.recording_id)
    this.#recordings = side === 0 ? [recording, right] : [left, recording]
  }

  lineUp(key: string): void {
    this.#event = key
    if (this.event) this.pair.lineUp(this.event.left, this.event.right)
  }

  lay(fit: Fit): void {
    this.#fits = { key: this.#key, fit }
    fits.set(this.#key, fit)
  }

  /** Asks which marks of the pitch are known in both pictures. */
  async findMarks(): Promise<void> {
    const key = this.#key
    const [left, right] = this.clips.map((c) => c?.recording_id)
    if (!left || !right || left === right || this.#marks.key === key) return
    this.#marks = { key, pairs: [] }
    try {
      const [to, from] = await Promise.all([calibration(left), calibration(right)])
      if (to.calibration && from.calibration) this.#marks = { key, pairs: sameMarks(from.calibration, to.calibration) }
    } catch {
      this.#marks = { key: '', pairs: [] } // it is a help that can be done without
    }
  }

  /** Lays the right picture on the left one by marks of the pitch, in a box of a shape; says how far off they stay, a share of its height. */
  layByMarks(box: number): number | null {
    const [left, right] = this.ratios
    const laid = laidOn(this.marks.map(([p]) => inBox(p, right, box)), this.marks.map(([, p]) => inBox(p, left, box)), box)
    if (laid) this.lay(laid.fit)
    return laid?.off ?? null
  }
}
