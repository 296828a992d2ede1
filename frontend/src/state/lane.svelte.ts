/**
 * A session's lane at work: what is on it, which ball is in hand, where the playhead stands, and the changes made, each
 * of which can be undone. Changes go to the server one after the other; the lane shows what is wanted at once, and then what
 * the server answered.
 */
import { ApiError } from '../api/error'
import * as sessions from '../api/sessions'
import type { BallEdit, Block, Lane, LaneBall, Recording, Session } from '../api/types'
import { announce } from './announce.svelte'
import { LaneCurves } from './lane-curves.svelte'
import { below, besides } from './lane-cut'
import { expected, merged, nextAfter, stepOf, undoing, unsure, type Step } from './lane-edits'
import * as views from './lane-view'
import { coalesce } from './refetch'
import { toasts } from './toasts.svelte'
import { toSession, type Span } from '../time/span'

/** A change that can be undone: of balls, or of the blocks as a whole. */
type Change = { balls: Step } | { blocks: { before: Block[]; after: Block[] } }

export class LaneDesk {
  session = $state.raw<Session | null>(null)
  recordings = $state.raw<readonly Recording[]>([])
  blocks = $state.raw<readonly Block[]>([])
  balls = $state.raw<readonly LaneBall[]>([])
  /** What else the lane came with: the cut, what lies under it, where blocks are likely to end. */
  rest = $state.raw<Pick<Lane, 'cut' | 'cut_chosen' | 'weak' | 'breaks'>>({ cut: 0.5, cut_chosen: false, weak: [], breaks: [] })
  /** The cut that is being tried; it is shown at once. */
  tried = $state<number | null>(null)
  readonly curves = new LaneCurves()
  problem = $state.raw<unknown>(null)
  loaded = $state(false)
  busy = $state(0)

  selectedId = $state<number | null>(null)
  /** The moment on display, session clock. */
  playhead = $state(0)
  /** Asked of the picture: a new object each time. */
  wanted = $state.raw<{ at: number; play: boolean } | null>(null)
  recordingId = $state<number | null>(null)
  showDiscarded = $state(false)

  view = $state.raw<views.View>({ from: 0, scale: 1 })
  width = $state(0)
  #fitted = false

  #done = $state.raw<Change[]>([])
  #undone = $state.raw<Change[]>([])
  #chain: Promise<unknown> = Promise.resolve()
  /** Counts the beginnings and ends of changes, so that what was asked for before one is not shown after it. */
  #turns = 0

  readonly all = $derived.by((): Span => {
    const ends = this.recordings.map((r) => toSession(r, r.duration_us ?? 0))
    const start = Math.min(0, ...this.recordings.map((r) => r.offset_us))
    return { start, end: Math.max(start + 10e6, ...ends, ...this.balls.map((b) => b.end_us), ...this.blocks.map((b) => b.end_us)) }
  })
  /** The recordings that have a picture: the others came to nothing, or are not looked at yet. */
  readonly filmed = $derived(this.recordings.filter((r) => r.duration_us !== null))
  readonly cut = $derived(this.tried ?? this.rest.cut)
  readonly #shown = $derived(this.tried === null ? this.balls : this.balls.filter((b) => !below(b, this.cut)))
  /** What the cut that is being tried would propose besides. */
  readonly besides = $derived(this.tried === null ? [] : besides(this.rest.weak, this.tried))
  readonly kept = $derived(this.#shown.filter((b) => b.state !== 'discarded'))
  readonly onLane = $derived(this.showDiscarded ? this.#shown : this.#shown.filter((b) => b.state !== 'discarded' || b.id === this.selectedId))
  readonly selected = $derived(this.balls.find((b) => b.id === this.selectedId))
  readonly unsureCount = $derived(this.kept.filter(unsure).length)
  readonly discardedCount = $derived(this.balls.filter((b) => b.state === 'discarded').length)
  readonly proposedCount = $derived(this.kept.filter((b) => b.state === 'proposed').length)
  readonly recording = $derived(this.filmed.find((r) => r.id === this.recordingId) ?? this.filmed.find((r) => r.browser_shows) ?? this.filmed[0])
  readonly canUndo = $derived(this.#done.length > 0)
  readonly canRedo = $derived(this.#undone.length > 0)

  constructor(readonly id: number) {}

  readonly load = coalesce(async () => {
    const turns = this.#turns
    try {
      const [session, lane] = await Promise.all([sessions.session(this.id), sessions.lane(this.id)])
      if (this.busy > 0 || turns !== this.#turns) return // may be older than a change; it is fetched again after that
      this.session = session
      this.recordings = lane.recordings
      this.blocks = lane.blocks
      this.balls = lane.balls
      this.rest = lane
      this.tried = null
      this.problem = null
      this.loaded = true
      this.fit()
      await Promise.all(lane.recordings.map((r) => this.curves.fetch(r)))
    } catch (err) {
      if (!this.loaded) this.problem = err
    }
  })

  // ---- what is seen

  /** The whole session, the first time it is known how wide the lane is. */
  fit(again = false): void {
    if (!this.loaded || this.width === 0 || (this.#fitted && !again)) return
    this.#fitted = true
    this.view = views.whole(this.all, this.width)
  }

  /** Shows the ball in hand wide enough to work on. */
  nearBall(): void {
    const b = this.selected
    if (b) this.view = views.near(this.view, { start: b.start_us, end: b.end_us }, this.all, this.width)
  }

  /** Shows the next recording's picture of the same moment. */
  otherCamera(): void {
    const at = this.recordings.findIndex((r) => r.id === this.recording?.id)
    this.recordingId = this.recordings[(at + 1) % this.recordings.length]?.id ?? null
  }

  /** The picture has gone on to a moment. */
  played(now: number): void {
    this.view = views.follow(this.view, this.playhead, now, this.all, this.width)
    this.playhead = now
  }

  zoom(factor: number, x = views.xOf(this.view, this.playhead)): void {
    this.view = views.zoom(this.view, factor, Math.min(Math.max(x, 0), this.width), this.all, this.width)
  }

  pan(pixels: number): void {
    this.view = views.pan(this.view, pixels, this.all, this.width)
  }

  seek(at: number, play = false): void {
    this.playhead = Math.min(Math.max(at, this.all.start), this.all.end)
    this.wanted = { at: this.playhead, play }
  }

  /** Takes a ball in hand and plays it. */
  select(b: LaneBall | undefined): void {
    this.selectedId = b?.id ?? null
    if (!b) return
    this.seek(b.start_us, true)
    announce(`Ball ${b.number || ''} ${b.state}`)
  }

  /** Takes a ball in hand that may be out of sight, or too narrow to work on. */
  goTo(b: LaneBall): void {
    this.select(b)
    this.nearBall()
  }

  step(by: 1 | -1): void {
    const list = this.onLane
    const at = list.findIndex((b) => b.id === this.selectedId)
    const next = at >= 0 ? list[at + by] : by > 0 ? nextAfter(list, this.playhead, () => true) : list.findLast((b) => b.start_us < this.playhead)
    if (next) this.goTo(next)
  }

  /** Goes to the next ball that the split is unsure of, other than the one in hand. */
  nextUnsure(): void {
    const b = nextAfter(this.balls, this.selected?.start_us ?? -1, (x) => unsure(x) && x.id !== this.selectedId)
    if (b) this.goTo(b)
    else if (this.selected && unsure(this.selected)) toasts.say('This is the last one that the split is unsure of.')
    else toasts.say('No ball is left that the split is unsure of.')
  }

  // ---- changes

  /** Makes a change of balls. The edits are made from the lane as it is when their turn comes. */
  change(make: (balls: readonly LaneBall[]) => BallEdit[], choose = false): void {
    this.#queue(async () => {
      const was = this.balls
      const edits = make(was)
      if (edits.length === 0) return
      const answer = await this.#edit(edits)
      this.#record({ balls: stepOf(edits, was, answer) })
      if (choose) this.selectedId = answer.at(-1)?.id ?? null
    })
  }

  /** Makes a change of the blocks; they are shown so at once. */
  setBlocks(make: (blocks: readonly Block[]) => Block[]): void {
    this.#queue(async () => {
      const before = [...this.blocks]
      const after = await this.#lay(make(before))
      this.#record({ blocks: { before, after } })
    })
  }

  /** Sends edits; what is wanted is shown meanwhile, and taken back when it can't be had. */
  async #edit(edits: BallEdit[]): Promise<LaneBall[]> {
    const was = this.balls
    this.balls = expected(was, edits)
    try {
      const answer = await sessions.editLane(this.id, { balls: edits })
      this.balls = merged(was, answer)
      return answer
    } catch (err) {
      this.balls = was
      throw err
    }
  }

  async #lay(want: Block[]): Promise<Block[]> {
    const was = this.blocks
    this.blocks = want
    try {
      return (this.blocks = await sessions.setBlocks(this.id, want))
    } catch (err) {
      this.blocks = was
      throw err
    }
  }

  /** Proposes balls from another confidence on; null is what the splits propose. Undo takes back edits, not this. */
  setCut(cut: number | null): void {
    this.tried = cut ?? this.tried
    this.#queue(() => sessions.setCut(this.id, cut))
  }

  undo(): void {
    this.#travel('undo')
  }

  redo(): void {
    this.#travel('redo')
  }

  #travel(which: 'undo' | 'redo'): void {
    this.#queue(async () => {
      const from = which === 'undo' ? this.#done : this.#undone
      const last = from.at(-1)
      if (!last) return
      let made: Change
      if ('balls' in last) {
        await this.#edit(undoing(last.balls, this.balls, which))
        if (this.selected?.state === 'discarded') this.selectedId = null // an added ball is no more
        made = last
      } else {
        const there = new Set(this.blocks.map((b) => b.id))
        const want = which === 'undo' ? last.blocks.before : last.blocks.after
        const after = await this.#lay(want.map((b) => (there.has(b.id) ? b : { ...b, id: 0 })))
        made = { blocks: which === 'undo' ? { before: after, after: last.blocks.after } : { before: last.blocks.before, after } }
      }
      if (which === 'undo') {
        this.#done = this.#done.slice(0, -1)
        this.#undone = [...this.#undone, made]
      } else {
        this.#undone = this.#undone.slice(0, -1)
        this.#done = [...this.#done, made]
      }
      announce(which === 'undo' ? 'Undone' : 'Done again')
    })
  }

  #record(c: Change): void {
    this.#done = [...this.#done, c].slice(-200)
    this.#undone = []
  }

  #queue(run: () => Promise<unknown>): void {
    this.busy++
    this.#turns++
    this.#chain = this.#chain.then(run).then(
      () => this.#settled(),
      (err: unknown) => {
        this.#settled()
        if (err instanceof ApiError && (err.conflict || err.notFound)) {
          // What was to be undone is no longer as it was.
          this.#done = []
          this.#undone = []
          toasts.say('Somebody else changed the lane meanwhile. It now shows how things stand: look, and make your change again.', { tone: 'bad' })
        } else toasts.fail(err)
        void this.load()
      },
    )
  }

  #settled(): void {
    this.busy--
    this.#turns++
    if (this.busy === 0) void this.load() // numbers, blocks and batters follow from the change
  }
}
