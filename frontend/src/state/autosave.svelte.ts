/**
 * Saves what is written on a page by itself, a moment after the last change: one save at a time, tried again when the
 * connection was lost. A refused or unsent save is 'failed'; what was written stays on the page.
 */
import { ApiError } from '../api/error'

const PAUSE = 700
const RETRY = 5_000

export type Saving = 'saved' | 'waiting' | 'saving' | 'failed'

export interface Written {
  /**
   * Sends what is on the page and takes the answer over: all of it if `last()`, else only what the next save needs, for
   * something was written meanwhile. `leaving`: the page is going away.
   */
  send(leaving: boolean, last: () => boolean): Promise<void>
  /** Whether it can be sent as it stands; if not, it waits. */
  ready(): boolean
}

export class Autosave {
  saving = $state<Saving>('saved')
  /** Why the last save came to nothing. */
  unsaved = $state.raw<unknown>(null)
  #timer: ReturnType<typeof setTimeout> | undefined
  /** Something was written while a save was on its way. */
  #again = false
  #going: Promise<void> | null = null

  constructor(readonly written: Written) {}

  /** What is wrong with a field of the last save. */
  wrong(field: string): string {
    return this.unsaved instanceof ApiError ? (this.unsaved.fields[field] ?? '') : ''
  }

  /** Whether somebody else saved in between. */
  get conflict(): boolean {
    return this.saving === 'failed' && this.unsaved instanceof ApiError && this.unsaved.conflict
  }

  /** Something was written. */
  soon(): void {
    if (this.saving === 'saving') this.#again = true
    else this.saving = 'waiting'
    this.#in(PAUSE)
  }

  #in(pause: number): void {
    clearTimeout(this.#timer)
    this.#timer = setTimeout(() => void this.save(), pause)
  }

  /** Saves at once what is waiting, and ends when that is done or has failed. */
  save(leaving = false): Promise<void> {
    clearTimeout(this.#timer)
    if (leaving) return this.#send(true)
    this.#going ??= this.#send(false).finally(() => (this.#going = null))
    return this.#going
  }

  async #send(leaving: boolean): Promise<void> {
    while ((this.saving === 'waiting' || this.saving === 'failed') && this.written.ready()) {
      this.saving = 'saving'
      this.#again = false
      try {
        await this.written.send(leaving, () => !this.#again)
        this.unsaved = null
        this.saving = this.#again ? 'waiting' : 'saved'
      } catch (err) {
        this.saving = 'failed'
        this.unsaved = err
        // What was written meanwhile may mend what was refused.
        if (this.#again) this.#in(PAUSE)
        else if (err instanceof ApiError && err.passing) this.#in(RETRY)
        return
      }
    }
  }

  /** Gives up what could not be saved. */
  giveUp(): void {
    clearTimeout(this.#timer)
    this.saving = 'saved'
    this.unsaved = null
  }
}
