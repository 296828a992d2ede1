/**
 * Hears one clap among other sounds, as levels go by: no sound is kept, only how loud each fiftieth of a tenth of a
 * second was. It would rather say that it is not sure than note a wrong moment. Pure: no microphone, no clock.
 */

/** How long one level is, seconds. */
export const STEP = 0.002

/** What the thresholds of a clap are: judgement, no source. */
const LEAD = 0.25 // s of quiet that must have been heard before
const AFTER = 0.5 // s that are waited to see whether another bang follows
const ABOVE = 24 // dB over what is usual
const FASTEST = 15 // dB by which it must rise within a hundredth of a second
const FADES = 8 // dB by which it must have died away after a tenth
const ALONE = 8 // dB by which it must be louder than everything else that was heard

export type Verdict = { at: number } | { why: 'listening' | 'nothing' | 'several' | 'dull' }

export class ClapEar {
  readonly #frame: number
  #levels: number[] = []
  #last = 0 // the last sample
  #sum = 0
  #n = 0

  constructor(rate: number) {
    this.#frame = Math.round(rate * STEP)
  }

  /** Seconds heard so far. */
  get seconds(): number {
    return this.#levels.length * STEP + (this.#n / this.#frame) * STEP
  }

  hear(samples: Float32Array): void {
    for (const s of samples) {
      const step = s - this.#last // a difference favours what a blow begins with over voices and wind
      this.#last = s
      this.#sum += step * step
      if (++this.#n === this.#frame) {
        this.#levels.push(10 * Math.log10(this.#sum / this.#n + 1e-10))
        this.#sum = this.#n = 0
      }
    }
  }

  /** When the clap began, in seconds from the first sample; or why that can't be said. `over`: nothing more will be heard. */
  verdict(over: boolean): Verdict {
    const levels = this.#levels
    const lead = Math.round(LEAD / STEP)
    if (levels.length <= lead) return { why: over ? 'nothing' : 'listening' }
    let peak = lead
    for (let i = lead; i < levels.length; i++) if (levels[i]! > levels[peak]!) peak = i
    const top = levels[peak]!
    const usual = [...levels].sort((a, b) => a - b)[Math.floor(levels.length / 2)]!
    const after = (levels.length - peak) * STEP
    if (top - usual < ABOVE) return { why: over ? 'nothing' : 'listening' }
    if (after < AFTER) return { why: over ? 'nothing' : 'listening' }
    const most = (from: number, to: number) => Math.max(-Infinity, ...levels.slice(Math.max(0, from), Math.max(0, to)))
    if (top - most(peak - 15, peak - 5) < FASTEST || top - most(peak + 50, peak + 60) < FADES) return { why: over ? 'dull' : 'listening' }
    if (top - Math.max(most(0, peak - 10), most(peak + 100, levels.length)) < ALONE) return { why: over ? 'several' : 'listening' }
    let begin = peak
    while (begin > 0 && peak - begin < 10 && levels[begin - 1]! > top - 20) begin--
    return { at: begin * STEP }
  }
}
