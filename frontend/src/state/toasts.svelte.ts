/** Short messages at the edge of the page. What a person must act on belongs where the trouble is, not here. */
import { wordsOf } from '../api/error'

export type Tone = 'plain' | 'good' | 'bad'

export interface Toast {
  id: number
  text: string
  tone: Tone
  action?: { text: string; run: () => void }
}

const STAY = 6000
const KEEP = 4

class Toasts {
  #list = $state.raw<Toast[]>([])
  #next = 1
  #timers = new Map<number, ReturnType<typeof setTimeout>>()

  get list(): readonly Toast[] {
    return this.#list
  }

  /** Says something. Bad news and toasts with an action stay until they are put away. */
  say(text: string, options: { tone?: Tone; action?: Toast['action'] } = {}): number {
    const toast: Toast = { id: this.#next++, text, tone: options.tone ?? 'plain', action: options.action }
    this.#list = [...this.#list.filter((t) => t.text !== text), toast].slice(-KEEP)
    if (toast.tone !== 'bad' && !toast.action) this.#timers.set(toast.id, setTimeout(() => this.drop(toast.id), STAY))
    return toast.id
  }

  good(text: string): number {
    return this.say(text, { tone: 'good' })
  }

  /** Says what went wrong, in the error's own words. */
  fail(err: unknown): number {
    return this.say(wordsOf(err), { tone: 'bad' })
  }

  drop(id: number): void {
    clearTimeout(this.#timers.get(id))
    this.#timers.delete(id)
    this.#list = this.#list.filter((t) => t.id !== id)
  }
}

export const toasts = new Toasts()
