/** The curves of a session's recordings, fetched once for each split. */
import * as footage from '../api/footage'
import type { Recording } from '../api/types'
import { samples } from './lane-view'

export interface Curves {
  sound: Uint8Array | null
  motion: Uint8Array | null
  soundStep: number
  motionStep: number
}

export class LaneCurves {
  of = $state.raw<ReadonlyMap<number, Curves>>(new Map())
  #fetched = new Set<number>()

  async fetch(r: Recording): Promise<void> {
    const split = r.state === 'split' || r.state === 'ready'
    // While the balls are still being found, there are curves from when the sound has been read.
    if ((!split && r.step !== 'split') || this.#fetched.has(r.id)) return
    this.#fetched.add(r.id)
    try {
      const t = await footage.traces(r.id)
      if (!split && !t.sound && !t.motion) {
        this.#fetched.delete(r.id)
        return
      }
      const one: Curves = {
        sound: t.sound && samples(t.sound.values),
        motion: t.motion && samples(t.motion.values),
        soundStep: t.sound?.step_us ?? 1,
        motionStep: t.motion?.step_us ?? 1,
      }
      this.of = new Map(this.of).set(r.id, one)
    } catch {
      this.#fetched.delete(r.id) // the next news fetches them again
    }
  }

  /** The split is being run anew: its curves will be other ones. */
  forget(recording: number): void {
    this.#fetched.delete(recording)
  }
}
