/** The cameras' clocks at work: how each recording is laid on the session's, and the picking of one bang on two of them. */
import * as footage from '../api/footage'
import type { Recording, RecordingChange } from '../api/types'
import { announce } from './announce.svelte'
import { laidOn, loudest, type Bang } from './lane-bang'
import type { LaneDesk } from './lane.svelte'
import { toasts } from './toasts.svelte'

/** A press means the bang so near, pixels. */
const REACH = 8

export class LaneClocks {
  /** Whether presses on the lane pick bangs now. */
  picking = $state(false)
  first = $state.raw<Bang | null>(null)
  busy = $state(false)

  constructor(private readonly desk: LaneDesk) {}

  begin(): void {
    this.picking = true
    this.first = null
    announce('Pick a bang on one recording, then the same bang on another')
  }

  end(): void {
    this.picking = false
    this.first = null
  }

  /** A moment was picked on a recording: the first of two, or the second, which lays its recording on the first's. */
  async pick(recording: number, at: number): Promise<void> {
    const curves = this.desk.curves.of.get(recording)
    const r = this.desk.recordings.find((x) => x.id === recording)
    if (!r) return
    const bang = { recording, at: curves?.sound ? loudest(curves.sound, curves.soundStep, r.offset_us, at, REACH * this.desk.view.scale) : at }
    const first = this.desk.recordings.find((x) => x.id === this.first?.recording)
    if (!first || first.id === recording) {
      this.first = bang
      return
    }
    const offset = laidOn(first, this.first!, r, bang)
    this.end()
    await this.change(r, { offset_us: offset })
  }

  async change(r: Recording, body: RecordingChange): Promise<void> {
    await this.#send(() => footage.changeRecording(r.id, body))
  }

  /** Takes a person's word back and goes by the sound again. */
  async bySound(r: Recording): Promise<void> {
    await this.#send(() => footage.alignRecording(r.id))
  }

  /** Has all cameras compared by their sound once more; what was laid by hand stays where that is not sure. */
  async anew(): Promise<void> {
    await this.#send(() => footage.alignSession(this.desk.id))
    announce('The cameras are being compared')
    toasts.say('The cameras are being compared by their sound. What comes of it is shown here.')
  }

  async #send(send: () => Promise<unknown>): Promise<void> {
    this.busy = true
    try {
      await send()
      await this.desk.load()
    } catch (err) {
      toasts.fail(err)
    } finally {
      this.busy = false
    }
  }
}
