/**
 * A term's key or button going down and up. A short press puts the term at the moment it went down; held while the
 * clip plays, it marks the span from down to up. No DOM: times are handed in.
 */

/** Held for so long, ms, a press is a hold. */
export const HOLD = 400

export interface Moment {
  /** Session clock, µs. */
  session: number
  /** The machine's clock, ms. */
  ms: number
}

export interface Pressed {
  term: string
  at: number
  until: number | null
}

export class Press {
  #down: { term: string; from: Moment } | null = null

  /** The term that is being held down, if any. */
  get term(): string | null {
    return this.#down?.term ?? null
  }

  /** A key went down. Fast hands press the next before they let go of the last: then the last was a short press. */
  down(term: string, now: Moment): Pressed | null {
    const before = this.short()
    this.#down = { term, from: now }
    return before
  }

  /** It went up. `end` is the ball's end: a loop may have begun anew in between. */
  up(term: string, now: Moment, end: number): Pressed | null {
    if (this.#down?.term !== term) return null
    const { from } = this.#down
    this.#down = null
    const held = now.ms - from.ms >= HOLD && now.session !== from.session
    const until = now.session > from.session ? now.session : end
    return { term, at: from.session, until: held && until > from.session ? until : null }
  }

  /** Whatever is down was a short press: another key came, or the window lost the keyboard. */
  short(): Pressed | null {
    if (!this.#down) return null
    const { term, from } = this.#down
    this.#down = null
    return { term, at: from.session, until: null }
  }

  /** Whatever is down was no press at all: the finger went on to scroll. */
  cancel(): void {
    this.#down = null
  }
}
