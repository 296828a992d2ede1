/**
 * The pose model as the page knows it: a picture goes in, the points of one body come out. The model is fetched when it
 * is first asked for, and lives in a hidden frame; one that breaks is thrown away, and the next question opens another.
 */
import { bodyOf, outOf, roomy, type Body, type Box } from './landmarks'
import type { Answer, Asked } from './frame'

/** Small pictures broke the model, and large ones are shrunk by it anyway: the longer side lies between these. */
const LEAST = 384
const MOST = 1024
/** Longer than the first look of a slow machine takes. */
const PATIENCE = 120_000

export class PoseUnavailable extends Error {}

interface Waiting {
  done: (points: Body | null) => void
  failed: (err: Error) => void
  timer: ReturnType<typeof setTimeout>
}

class PoseModel {
  #frame: HTMLIFrameElement | null = null
  #ready: Promise<void> | null = null
  #waiting = new Map<number, Waiting>()
  #next = 1
  #failures = 0

  /** Whether it is worth asking: this browser can run it, and it has not failed again and again. */
  get usable(): boolean {
    return this.#failures < 3 && canDraw()
  }

  /** Fetches and opens the model; asking does so too. */
  open(): Promise<void> {
    if (!this.usable) return Promise.reject(new PoseUnavailable('Points can’t be proposed in this browser. Put them on by hand.'))
    this.#ready ??= new Promise<void>((done, failed) => {
      const frame = document.createElement('iframe')
      frame.src = '/pose.html'
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

  /** Finds the batter in a part of a picture; points in shares of the whole. Null: nobody is there. */
  async find(source: HTMLCanvasElement | HTMLImageElement, box: Box | null): Promise<Body | null> {
    await this.open()
    const part = box ? roomy(box) : { x: 0, y: 0, width: 1, height: 1 }
    const [w, h] = source instanceof HTMLImageElement ? [source.naturalWidth, source.naturalHeight] : [source.width, source.height]
    const cut = { x: Math.round(part.x * w), y: Math.round(part.y * h), w: Math.max(1, Math.round(part.width * w)), h: Math.max(1, Math.round(part.height * h)) }
    const longer = Math.max(cut.w, cut.h)
    const scale = Math.min(MOST, Math.max(LEAST, longer)) / longer
    const picture = await createImageBitmap(source, cut.x, cut.y, cut.w, cut.h, {
      resizeWidth: Math.round(cut.w * scale),
      resizeHeight: Math.round(cut.h * scale),
      resizeQuality: 'high',
    })
    const id = this.#next++
    const body = await new Promise<Body | null>((done, failed) => {
      const timer = setTimeout(() => this.#break('it does not answer'), PATIENCE)
      this.#waiting.set(id, { done, failed, timer })
      this.#frame!.contentWindow!.postMessage({ id, picture } satisfies Asked, location.origin, [picture])
    })
    return body && outOf({ x: cut.x / w, y: cut.y / h, width: cut.w / w, height: cut.h / h }, body)
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
    waiting.done(bodyOf(a.points))
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

let draws: boolean | null = null
/** The model calculates by WebGL. */
function canDraw(): boolean {
  draws ??= document.createElement('canvas').getContext('webgl2') !== null
  return draws
}

/** One for the whole page. */
export const pose = new PoseModel()
