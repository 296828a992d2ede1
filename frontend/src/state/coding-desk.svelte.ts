/** The coding page as a whole, without its looks: the clip, the words, the pen and the note, and what keys do. */
import type { Ball, Observation } from '../api/types'
import type { Command } from './coding-keys'
import { Ink, type Sheet } from './coding-ink.svelte'
import { NoteDraft } from './coding-notes.svelte'
import { Press, type Moment, type Pressed } from './coding-press'
import type { Coding } from './coding.svelte'
import { settings } from './coding-settings.svelte'
import { AHEAD, type Subject } from './looks.svelte'
import { MeasureDesk } from './measure-desk.svelte'
import { keptOn, showing, stopAt, type Kept } from './player-ink'
import { trackOf } from './player-track'
import { Player } from './player.svelte'
import { Proposals } from './proposals.svelte'

export class Desk {
  readonly coding: Coding
  readonly player = new Player()
  readonly ink: Ink
  readonly notes: NoteDraft
  readonly measuring = new MeasureDesk(() => this.#coming())
  readonly proposals: Proposals
  /** The term that is held down. */
  held = $state<string | null>(null)
  keysShown = $state(false)

  #press = new Press()
  #code = '' // of the key that is held
  #ms: () => number

  constructor(coding: Coding, ms: () => number = () => performance.now()) {
    this.coding = coding
    this.proposals = new Proposals(coding)
    this.#ms = ms
    this.ink = new Ink((sheet, strokes) => {
      if (strokes.length > 0) coding.drawing(sheet.ball, { strokes }, sheet.at, sheet.recording, sheet.there)
      else if (sheet.there) coding.takeBack(sheet.there)
    })
    this.notes = new NoteDraft((ball, body, at, corrects) => coding.note(ball, body, at, corrects))
    this.player.loop = settings.now.loop
    this.player.muted = settings.now.muted
  }

  /** What is seen on the ball, as far as it is wanted. */
  get seen(): Observation[] {
    return settings.now.hideOthers ? this.coding.seen.filter(this.coding.isMine) : this.coding.seen
  }

  /** The drawings on the picture that is shown. */
  get drawings(): Kept[] {
    const clip = this.coding.clip
    return clip ? keptOn(this.seen, clip.recording_id) : []
  }

  /** Those to show now; while I draw, mine of this frame is on the pad. */
  get drawingsNow(): Kept[] {
    const { track, frame, playing, speed } = this.player
    if (!track) return []
    return showing(this.drawings, track, frame, playing, speed).filter((k) => k.uuid !== this.ink.sheet?.there?.uuid)
  }

  /** Does what a key stands for; false leaves the key to the browser. */
  run(c: Command, code = ''): boolean {
    this.settle()
    const { coding, player } = this
    switch (c.do) {
      case 'toggle':
        player.toggle()
        return true
      case 'step':
        player.step(c.by)
        return true
      case 'speed':
        player.shift(c.by)
        return true
      case 'contact':
        this.toContact()
        return true
      case 'loop':
        this.setLoop(!player.loop)
        return true
      case 'ball':
        coding.move(c.by)
        return true
      case 'group':
        coding.openBeside(c.by)
        return true
      case 'open':
        return this.#open(c.press)
      case 'term':
        return this.#term(c, code) || (c.press === 'm' && !c.mark && this.measure())
      case 'undo':
        coding.undo()
        return true
      case 'note':
        this.note()
        return true
      case 'draw':
        this.draw()
        return true
      case 'accept':
        this.proposals.accept()
        return true
      case 'keys':
        this.keysShown = true
        return true
      default:
        return false
    }
  }

  /** A term's button or key goes down. */
  down(term: string): void {
    this.#commit(this.#press.down(term, this.#now()))
    this.held = term
  }

  /** It goes up: the term is put. */
  up(term: string): void {
    this.#commit(this.#press.up(term, this.#now(), this.coding.ball?.end_us ?? 0))
    this.held = null
  }

  cancel(): void {
    this.#press.cancel()
    this.held = null
  }

  /** A press without a length; `mark`: an end of a span. */
  tap(term: string, mark: boolean): void {
    if (mark) this.coding.mark(term, this.player.session)
    else this.coding.put(term, this.player.session)
  }

  /** The key with this code was let go. */
  release(code: string): void {
    if (code === this.#code && this.held !== null) this.up(this.held)
  }

  /** What is held down counts as a short press: something else happens now. */
  settle(): void {
    this.#commit(this.#press.short())
    this.held = null
  }

  note(): void {
    if (this.coding.ball) this.notes.begin(this.coding.ball.id, this.player.session)
  }

  /** Takes the pen up on the frame that is shown, or puts it down and keeps the drawing. */
  draw(): void {
    if (this.ink.on) {
      this.ink.done()
      return
    }
    const { ball, clip } = this.coding
    if (!ball || !clip || !this.player.track) return
    this.player.pause()
    const at = this.player.session
    const there = this.drawingsNow.find((k) => k.coder === this.coding.me)
    const observation = this.coding.seen.find((o) => o.uuid === there?.uuid)
    const sheet: Sheet = { ball: ball.id, at, recording: clip.recording_id }
    this.ink.start(observation ? { ...sheet, at: observation.at_us ?? at, there: observation } : sheet)
  }

  /** Freezes the frame and measures on it, or stops that. */
  measure(): boolean {
    if (this.measuring.on) this.measuring.stop()
    else this.beginMeasuring()
    return true
  }

  /** Measures the ball at hand. */
  beginMeasuring(): void {
    const subject = this.#subjectOf(this.coding.ball)
    if (!subject) {
      this.coding.said = 'There is no picture to measure on'
      return
    }
    this.ink.done()
    this.player.pause()
    void this.measuring.begin(subject)
  }

  #subjectOf(ball: Ball | undefined): Subject | null {
    const { balls } = this.coding
    const clip = this.coding.clipOf(ball)
    if (!ball || !clip?.file) return null
    const bats = balls.session?.players.find((p) => p.id === ball.player_id)?.bats ?? 'right'
    return { ball, recording: clip.recording_id, bats, track: trackOf(clip, this.coding.rateOf(clip)) }
  }

  /** The balls that come after the one at hand, on the same recording: another camera has another box. */
  #coming(): Subject[] {
    const { listed, ball } = this.coding
    const at = listed.findIndex((b) => b.id === ball?.id)
    const next = listed.slice(at + 1, at + 1 + AHEAD).map((b) => this.#subjectOf(b))
    return next.filter((s) => s !== null).filter((s) => s.recording === this.measuring.subject?.recording)
  }

  /** The one key: keeps the measures, then puts the word they imply on the ball, then goes to the next ball. */
  async acceptMeasures(): Promise<void> {
    const { measuring, coding } = this
    const term = measuring.takeImplied()
    if (term) {
      coding.imply(term.group, term.term, coding.ball?.contact_us ?? this.player.session)
      if (measuring.implied.length === 0) this.nextMeasured()
      return
    }
    if (!measuring.board.complete) {
      const missing = measuring.board.wanted.find((w) => !w.optional && !measuring.board.placed[w.key])
      if (missing) measuring.board.pick(missing.key)
      coding.said = `Put the ${missing?.name.toLowerCase() ?? 'points'} on first`
      return
    }
    if (!(await measuring.accept())) return
    // Words that the vocabulary does not offer, or that are said already, need no key.
    measuring.implied = measuring.implied.filter(
      (t) => coding.groups.some((g) => g.key === t.group && g.terms.some((k) => k.key === t.term)) && !coding.mine(t.group).some((o) => o.term === t.term),
    )
    coding.said = measuring.outcome?.values.map((v) => `${v.name} ${v.text}`).join(', ') ?? ''
    if (measuring.implied.length === 0) this.nextMeasured()
  }

  /** On to the next ball, still measuring. */
  nextMeasured(): void {
    this.measuring.implied = []
    if (this.coding.next) this.coding.move(1)
    else this.coding.said = 'Kept. This is the last ball'
  }

  /** Keeps what is half done: the frame, the ball or the page is left. */
  keepDrafts(): void {
    this.settle()
    this.ink.done()
    this.notes.done()
  }

  /** Stops at a drawing that play has come past, if that is wanted. */
  passed(before: number, now: number): void {
    const { track, playing } = this.player
    if (!track || !playing || !settings.now.stopAtDrawings) return
    const at = stopAt(this.drawings, track, before, now)
    if (at !== null) this.player.pause(at)
  }

  toContact(): void {
    const contact = this.coding.ball?.contact_us
    if (contact == null) {
      this.coding.said = 'No contact on this ball'
      return
    }
    this.player.stopAt(contact)
  }

  /** Shows the moment of something seen. */
  seek(at: number): void {
    this.player.stopAt(at)
  }

  setLoop(on: boolean): void {
    this.player.loop = on
    settings.set('loop', on)
  }

  #open(press: string): boolean {
    const group = this.coding.groupFor(press)
    if (!group) return false
    this.coding.openGroup(group.key)
    return true
  }

  #term(c: { press: string; or?: string; mark: boolean }, code: string): boolean {
    const term = this.coding.termFor(c.press) ?? (c.or ? this.coding.termFor(c.or) : undefined)
    if (term === undefined) return false
    if (c.mark) {
      this.tap(term, true)
      return true
    }
    this.#code = code
    this.down(term)
    return true
  }

  #commit(p: Pressed | null): void {
    if (p) this.coding.put(p.term, p.at, p.until)
  }

  #now(): Moment {
    return { session: this.player.session, ms: this.#ms() }
  }
}
