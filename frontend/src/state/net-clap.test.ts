import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { ClapEar, STEP, type Verdict } from './net-clap'

const RATE = 48_000

/** So many seconds of a hall: noise, and what is added to it. */
function hall(seconds: number, noise = 0.001): Float32Array {
  let seed = 7
  const out = new Float32Array(seconds * RATE)
  for (let i = 0; i < out.length; i++) {
    seed = (seed * 1_103_515_245 + 12_345) % 2_147_483_648
    out[i] = noise * (seed / 1_073_741_824 - 1)
  }
  return out
}
/** A clap: a burst of noise that dies away within hundredths of a second, as hands do. */
function clap(into: Float32Array, at: number, size = 0.5): Float32Array {
  const burst = hall(0.15, 1)
  const from = Math.round(at * RATE)
  burst.forEach((v, i) => {
    if (from + i < into.length) into[from + i]! += size * v * Math.exp(-i / RATE / 0.012)
  })
  return into
}
/** A vowel at the pitch of a voice, that swells and goes. */
function vowel(into: Float32Array, at: number, length: number, size = 0.4): Float32Array {
  for (let i = 0; i < length * RATE; i++) {
    const s = i / RATE
    into[Math.round(at * RATE) + i]! += size * Math.sin((Math.PI * s) / length) * (Math.sin(2 * Math.PI * 140 * s) + 0.5 * Math.sin(2 * Math.PI * 700 * s))
  }
  return into
}
/** Heard in pieces of a size, as a phone hands them on: the verdict at the first sure one, or at the end. */
function hear(sound: Float32Array, piece = 2048): Verdict {
  const ear = new ClapEar(RATE)
  for (let i = 0; i < sound.length; i += piece) {
    ear.hear(sound.subarray(i, i + piece))
    const v = ear.verdict(false)
    if ('at' in v) return v
  }
  return ear.verdict(true)
}

describe('the phone’s ear', () => {
  it('hears a clap at its time, however loud the hall and whatever the pieces', () => {
    fc.assert(
      fc.property(fc.double({ min: 0.4, max: 2, noNaN: true }), fc.constantFrom(0.0001, 0.001, 0.01), fc.constantFrom(128, 1000, 9600), (at, noise, piece) => {
        const v = hear(clap(hall(3, noise), at), piece)
        expect(v).toHaveProperty('at')
        if ('at' in v) expect(Math.abs(v.at - at)).toBeLessThan(4 * STEP)
      }),
      { numRuns: 40 },
    )
  })
  it('hears it over talk', () => {
    const v = hear(clap(vowel(hall(4), 0.3, 0.6, 0.1), 1.8, 0.8))
    expect(v).toHaveProperty('at')
    if ('at' in v) expect(v.at).toBeCloseTo(1.8, 2)
  })
  it.each([
    ['silence', hall(2, 0), 'nothing'],
    ['a quiet hall', hall(2), 'nothing'],
    ['talk alone', vowel(hall(3, 0.0002), 0.9, 0.7), 'dull'],
    ['two bangs alike, with no time between them to be sure', clap(clap(hall(2), 0.8), 1.15), 'several'],
    ['a bang at the very end', clap(hall(1), 0.9), 'nothing'],
    ['a bang at the very beginning', clap(hall(1.5), 0.05), 'nothing'],
    ['nothing heard at all', new Float32Array(0), 'nothing'],
  ])('is not sure of %s', (_, sound, why) => expect(hear(sound)).toEqual({ why }))
})
