/**
 * A pose model as the page knows it: a picture goes in, the points of one body come out. The model is fetched when it is
 * first asked for, and lives in a hidden frame; one that breaks is thrown away, and the next question opens another.
 */
import type { Answer, Asked } from './frame'
import type { Landmark } from './landmarks'

/** Longer than the first look of a slow and busy machine takes: two minutes were seen. */
const PATIENCE = 300_000

export class PoseUnavailable extends Error {}

interface Waiting {
  done: (points: Landmark[] | null) => void
  failed: (err: Error) => void
  timer: ReturnType<typeof setTimeout>
}

export class PoseModel {
  #frame: HTMLIFrameElement | null = null
  #ready: Promise<void> | null = null
  #waiting = new Map<number, Waiting>()
  #next = 1
  #failures = 0
  #name: string
  #able: () => boolean

  /** `name`: which model the frame opens; `able`: whether this browser can run it. */
  constructor(name: 'whole' | 'quick', able: () => boolean) {
    this.#name = name
    this.#able = able
  }

  /** Whether it is worth asking: this browser can run it, and it has not failed again and again. */
  get usable(): boolean {
    return this.#failures < 3 && this.#able()
  }

  /** Fetches and opens the model; asking does so too. */
  open(): Promise<void> {
    if (!this.usable) return Promise.reject(new PoseUnavailable('Points can’t be proposed in this browser. Put them on by hand.'))
    this.#ready ??= new Promise<void>((done, failed) => {
      const frame = document.createElement('iframe')
      frame.src = `/pose.html#${this.#name}`
      frame.hidden = true
      frame.title = 'Points of a body'
      const timer = setTimeout(() => this.#break('it took too long to open'), PATIENCE)
      this.#listen = (e: MessageEvent<Answer>) => {
        if (e.source !== frame.contentWindow || e.origin !== location.origin) return
        if ('ready' in e.data) {
          clearTimeout(timer)
          done()
        } else if ('broken' in e.data) {
          clearTimeout(timer)
          this.#break(e.data.broken)
        } else this.#answered(e.data)
      }
      this.#refuse = failed
      addEventListener('message', this.#listen)
      document.body.append(frame)
      this.#frame = frame
    })
    return this.#ready
  }
  #listen: ((e: MessageEvent<Answer>) => void) | null = null
  #refuse: ((err: Error) => void) | null = null

  /** The points of one body in a picture, which is handed over; null: nobody is there. */
  async ask(picture: ImageBitmap): Promise<Landmark[] | null> {
    await this.open()
    const id = this.#next++
    return new Promise<Landmark[] | null>((done, failed) => {
      const timer = setTimeout(() => this.#break('it does not answer'), PATIENCE)
      this.#waiting.set(id, { done, failed, timer })
      this.#frame!.contentWindow!.postMessage({ id, picture } satisfies Asked, location.origin, [picture])
    })
  }

  #answered(a: Exclude<Answer, { ready: true } | { broken: string }>): void {
    const waiting = this.#waiting.get(a.id)
    if (!waiting) return
    if ('problem' in a) {
      this.#break(a.problem)
      return
    }
    clearTimeout(waiting.timer)
    this.#waiting.delete(a.id)
    this.#failures = 0
    waiting.done(a.points)
  }

  /** Throws the frame away; who waits is told. */
  #break(why: string): void {
    this.#failures++
    const err = new PoseUnavailable(`The points could not be proposed (${why}). Put them on by hand, or try again.`)
    this.#refuse?.(err)
    for (const w of this.#waiting.values()) {
      clearTimeout(w.timer)
      w.failed(err)
    }
    this.#waiting.clear()
    this.close()
  }

  /** Lets the model go. */
  close(): void {
    if (this.#listen) removeEventListener('message', this.#listen)
    this.#frame?.remove()
    this.#frame = this.#ready = this.#listen = this.#refuse = null
  }
}
