/** Things done a few at a time, in the order they were asked for. */
export class Turns {
  #free: number
  #waiting: (() => void)[] = []

  constructor(atOnce: number) {
    this.#free = atOnce
  }

  /** Calls `start` when its turn comes; what is returned ends the turn, or the waiting for it, and may be called twice. */
  take(start: () => void): () => void {
    let state: 'waits' | 'runs' | 'over' = 'waits'
    const go = () => {
      state = 'runs'
      start()
    }
    if (this.#free > 0) {
      this.#free--
      go()
    } else {
      this.#waiting.push(go)
    }
    return () => {
      if (state === 'waits') this.#waiting = this.#waiting.filter((w) => w !== go)
      if (state === 'runs') this.#next()
      state = 'over'
    }
  }

  #next() {
    const go = this.#waiting.shift()
    if (go) go()
    else this.#free++
  }
}
