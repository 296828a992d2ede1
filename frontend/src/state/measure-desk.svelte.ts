/**
 * Measuring a ball on the coding page: a frame frozen at contact or in the stance, points on it, what the server makes
 * of them, and the one key that keeps it. No DOM but the frozen picture, which is only handed on.
 */
import { wordsOf } from '../api/error'
import * as api from '../api/measuring'
import type { Box, ImpliedTerm, Measures, Measuring, Reading, ReadingInput, Sight } from '../api/types'
import { firstMove } from '../pose/follow'
import { PoseUnavailable } from '../pose/pose'
import { Looks, type Frozen, type Subject } from './looks.svelte'
import { only, partsOf, wantedParts, type SetName } from './measure-parts'
import { readSets, keepSets } from './measure-settings'
import { PointBoard } from './point-board.svelte'

export type Moment = 'contact' | 'stance'
export const MODEL = '@mediapipe/pose 0.5 full'

type Footing = NonNullable<Sight['front']>

export class MeasureDesk {
  on = $state(false)
  readonly board = new PointBoard()
  moment = $state<Moment>('contact')
  frozen = $state.raw<Frozen | null>(null)
  known = $state.raw<Measures | null>(null)
  sets = $state.raw<ReadonlySet<SetName>>(readSets())
  feet = $state<{ front: Footing; back: Footing }>({ front: '', back: '' })
  times = $state.raw<{ trigger_us?: number; release_us?: number; bounce_us?: number }>({})
  outcome = $state.raw<Measuring | null>(null)
  /** Words that the values imply, waiting for a key. */
  implied = $state.raw<readonly ImpliedTerm[]>([])
  /** Null: not asked yet. False: the camera is not calibrated. */
  calibrated = $state<boolean | null>(null)
  proposing = $state(false)
  note = $state('')
  problem = $state.raw<unknown>(null)
  saving = $state(false)
  kept = $state.raw<Reading | null>(null)
  readonly looks = new Looks()
  /** When the feet first move by the batter's way, on the session clock. */
  readonly move = $derived.by(() => firstMove(this.looks.way, this.frozen ? this.frozen.picture.width / this.frozen.picture.height : 16 / 9))

  #subject: Subject | null = null
  #sights: Partial<Record<Moment, Sight>> = {}
  #box: Box | null = null
  #boxOf = 0
  #going: AbortController | null = null
  #turn = 0
  #known = false // whether the ball has points already
  #coming: () => readonly Subject[]

  /** `coming`: the balls that come after the one at hand. */
  constructor(coming: () => readonly Subject[] = () => []) {
    this.#coming = coming
  }

  get subject(): Subject | null {
    return this.#subject
  }

  /** Begins with a ball; the frame comes by `freeze`. */
  async begin(s: Subject): Promise<void> {
    const turn = ++this.#turn
    this.#subject = s
    this.looks.turnTo(s)
    this.on = true
    this.proposing = this.#known = false
    this.moment = 'contact'
    this.frozen = this.outcome = this.kept = null
    this.implied = []
    this.#sights = {}
    this.times = {}
    this.feet = { front: '', back: '' }
    this.note = ''
    this.problem = null
    this.board.start(this.wanted())
    try {
      if (!this.known) {
        this.known = await api.measures()
        if (turn === this.#turn) this.board.start(this.wanted())
      }
      if (this.#boxOf !== s.recording) {
        const { calibration } = await api.calibration(s.recording)
        if (turn !== this.#turn) return
        this.#boxOf = s.recording
        this.#box = calibration?.box ?? null
        this.calibrated = calibration !== null
      }
      if (this.#box) this.looks.open()
      const there = (await api.ballReadings(s.ball.id)).find((r) => r.recording_id === s.recording)
      if (turn !== this.#turn) return
      if (there && this.board.count === 0) this.#take(there)
      this.#known = true
      this.#offer()
    } catch (err) {
      if (turn === this.#turn) this.problem = err
    }
  }

  #take(r: Reading): void {
    this.kept = r
    this.times = { trigger_us: r.sights.trigger_us ?? undefined, release_us: r.sights.release_us ?? undefined, bounce_us: r.sights.bounce_us ?? undefined }
    this.#sights = { contact: r.sights.contact ?? undefined, stance: r.sights.stance ?? undefined }
    this.#open()
  }

  wanted = () => wantedParts(this.known, this.sets)

  /** The frame is there: its points, if it has some, else those that the model proposes. */
  freeze(f: Frozen): void {
    const same = this.frozen?.at === f.at
    this.frozen = f
    if (!same) this.#offer()
  }

  /** Proposes by itself where the batter's box says whom to look for, and nothing is there yet; then for the balls to come. */
  #offer(): void {
    if (!this.#box || !this.#known || this.proposing) return
    if (this.board.count > 0) this.looks.ahead(this.#coming(), this.#box)
    else if (this.frozen) void this.propose()
  }

  /** Where the frame of a moment is wanted: where it was marked before, null when nowhere. */
  frameOf(moment: Moment): number | null {
    return this.#sights[moment]?.at_us ?? null
  }

  /** From contact to stance and back. */
  toggle(): void {
    this.#keep()
    this.moment = this.moment === 'contact' ? 'stance' : 'contact'
    this.frozen = null
    this.#open()
  }

  #open(): void {
    const s = this.#sights[this.moment]
    this.feet = { front: s?.front ?? '', back: s?.back ?? '' }
    this.board.start(this.wanted(), s?.points ?? {}, points(s?.proposed ?? {}))
  }

  /** Puts what is on the board into its moment's sight. */
  #keep(): void {
    if (this.board.count === 0) {
      delete this.#sights[this.moment]
      return
    }
    const before = this.#sights[this.moment]
    this.#sights[this.moment] = {
      at_us: this.frozen?.at ?? before?.at_us ?? 0,
      points: { ...this.board.placed },
      proposed: before?.proposed ?? {},
      front: this.feet.front,
      back: this.feet.back,
    }
  }

  choose(set: SetName, on: boolean): void {
    const next = new Set(this.sets)
    if (on) next.add(set)
    else next.delete(set)
    this.sets = next
    keepSets(next)
    this.board.want(this.wanted())
    // What was proposed for it is still known.
    const proposed = this.#sights[this.moment]?.proposed ?? {}
    const missing = this.board.wanted.filter((w) => !this.board.placed[w.key] && proposed[w.key])
    if (on && missing.length > 0) {
      const fresh = points(only(proposed, missing))
      this.board.start(this.wanted(), { ...this.board.placed, ...fresh }, { ...this.board.proposed, ...fresh })
    }
  }

  /** Asks the model for points; what a person has put on meanwhile stays. */
  async propose(): Promise<void> {
    const [s, f, turn, moment] = [this.#subject, this.frozen, this.#turn, this.moment]
    if (!s || !f || !this.looks.usable) return
    this.proposing = true
    this.note = ''
    const box = this.#box
    try {
      const body = await this.looks.on(f, box)
      if (box) void this.looks.follow(s, box).catch(() => {})
      if (turn !== this.#turn || moment !== this.moment || f !== this.frozen || this.board.count > 0) return
      if (!body) {
        this.note = this.#box ? 'Nobody was made out in the batter’s box.' : 'Nobody was made out. Draw the batter’s box where the camera is calibrated.'
        return
      }
      const proposed = partsOf(body, s.bats)
      this.#sights[moment] = { at_us: f.at, points: {}, proposed }
      const wanted = this.wanted()
      const on = points(only(proposed, wanted))
      this.board.start(wanted, on, on)
      this.board.pick('front-heel')
    } catch (err) {
      if (err instanceof PoseUnavailable) this.note = err.message
      else this.problem = err
    } finally {
      if (turn === this.#turn) {
        this.proposing = false
        if (box) this.looks.ahead(this.#coming(), box)
      }
    }
  }

  /** The reading as it stands. */
  input(status: Reading['status']): ReadingInput | null {
    const s = this.#subject
    this.#keep()
    if (!s || Object.keys(this.#sights).length === 0) return null
    return {
      uuid: crypto.randomUUID(),
      ball_id: s.ball.id,
      recording_id: s.recording,
      sights: { ...this.#sights, ...this.times },
      proposed_by: Object.values(this.#sights).some((x) => Object.keys(x?.proposed ?? {}).length > 0) ? MODEL : '',
      status,
    }
  }

  /** Asks the server what the points come to. */
  async compute(): Promise<void> {
    this.#going?.abort()
    const input = this.on && this.frozen ? this.input('accepted') : null
    if (!input) {
      this.outcome = null
      return
    }
    const going = (this.#going = new AbortController())
    try {
      this.outcome = await api.tryReading(input, going.signal)
      this.problem = null
    } catch (err) {
      if (!going.signal.aborted) this.problem = err
    }
  }

  /** Keeps the points and what follows from them; says whether that went well. */
  async accept(): Promise<boolean> {
    const input = this.input('accepted')
    if (!input || this.saving) return false
    this.saving = true
    try {
      const { reading, outcome } = await api.addReading(input)
      this.kept = reading
      this.outcome = outcome
      this.implied = outcome.terms
      this.problem = null
      return true
    } catch (err) {
      this.problem = err
      this.note = wordsOf(err)
      return false
    } finally {
      this.saving = false
    }
  }

  /** The first of the words that wait, taken. */
  takeImplied(): ImpliedTerm | undefined {
    const [first, ...rest] = this.implied
    this.implied = rest
    return first
  }

  stop(): void {
    this.#turn++
    this.#going?.abort()
    this.looks.close()
    this.on = false
    this.frozen = null
    this.implied = []
  }
}

const points = (from: Readonly<Record<string, { x: number; y: number }>>) =>
  Object.fromEntries(Object.entries(from).map(([key, p]) => [key, { x: p.x, y: p.y }]))
