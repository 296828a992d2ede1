/** Whether the server can be reached, for the banner and for queues that wait to send. */
import { onReach } from '../api/client'

class Connection {
  #lost = $state(false)
  #waiting = new Set<() => void>()

  get lost(): boolean {
    return this.#lost
  }

  /** Starts watching calls and the browser's own word. Returns the way to stop. */
  start(): () => void {
    const off = () => this.#set(true)
    const on = () => this.#set(false)
    const stop = onReach((r) => this.#set(r === 'unreachable'))
    addEventListener('offline', off)
    addEventListener('online', on)
    return () => {
      stop()
      removeEventListener('offline', off)
      removeEventListener('online', on)
    }
  }

  /** Runs `fn` each time the connection comes back. Returns the way to stop. */
  onReturn(fn: () => void): () => void {
    this.#waiting.add(fn)
    return () => this.#waiting.delete(fn)
  }

  /** Another part (the event stream) has seen the server come or go. */
  report(lost: boolean): void {
    this.#set(lost)
  }

  #set(lost: boolean): void {
    if (lost === this.#lost) return
    this.#lost = lost
    if (!lost) for (const fn of [...this.#waiting]) fn()
  }
}

export const connection = new Connection()
