/** A note being written. It is kept when the ball is left, so that nothing typed is lost. */
import type { Observation } from '../api/types'

export class NoteDraft {
  open = $state(false)
  text = $state('')
  /** The moment when it was begun, session clock. */
  at = $state(0)
  /** Of that moment; else of the ball as a whole. */
  timed = $state(true)
  corrects = $state.raw<Observation | null>(null)
  /** Counts openings, so that each puts the keyboard there. */
  opened = $state(0)

  #ball = 0
  #keep: (ball: number, body: string, at: number | null, corrects?: Observation) => void

  constructor(keep: (ball: number, body: string, at: number | null, corrects?: Observation) => void) {
    this.#keep = keep
  }

  /** Begins a note, or goes on with the one that was begun. */
  begin(ball: number, at: number): void {
    if (!this.open) {
      this.#ball = ball
      this.at = at
      this.timed = true
      this.corrects = null
      this.text = ''
      this.open = true
    }
    this.opened++
  }

  change(note: Observation): void {
    this.done()
    this.#ball = note.ball_id
    this.at = note.at_us ?? 0
    this.timed = note.at_us !== null
    this.corrects = note
    this.text = note.body
    this.open = true
    this.opened++
  }

  /** Keeps what was written, if anything was. */
  done(): void {
    if (this.open && this.text.trim() !== '') this.#keep(this.#ball, this.text, this.timed ? this.at : null, this.corrects ?? undefined)
    this.throwAway()
  }

  throwAway(): void {
    this.open = false
    this.text = ''
    this.corrects = null
  }
}
