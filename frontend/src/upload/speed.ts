/** How fast bytes go, over the last few seconds. */

const WINDOW = 6000

export class Speed {
  #marks: { at: number; sent: number }[] = []

  /** So many bytes in all had been sent at `at` (ms). */
  mark(at: number, sent: number): void {
    const last = this.#marks.at(-1)
    // Going back means that the server had less than was handed over: measure anew.
    if (last && sent < last.sent) this.#marks = []
    this.#marks.push({ at, sent })
    while (this.#marks.length > 2 && this.#marks[1]!.at <= at - WINDOW) this.#marks.shift()
  }

  forget(): void {
    this.#marks = []
  }

  /** Bytes a second, 0 while that is not known. */
  get perSecond(): number {
    const first = this.#marks[0]
    const last = this.#marks.at(-1)
    if (!first || !last || last.at - first.at < 500) return 0
    return ((last.sent - first.sent) * 1000) / (last.at - first.at)
  }
}
