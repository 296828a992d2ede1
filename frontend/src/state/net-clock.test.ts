import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type Anchor, look, serverTime, type Tick, UNKNOWN_DOUBT } from './net-clock'

/** A phone whose wall clock is off by so much and whose page began at a time, all by the true clock. */
const phone = (page: string, off: number, born: number, hid = 0) => (now: number, slept = 0): Tick => ({
  page, wall: now + off, mono: now - born - slept, hid,
})
const anchor = (t: Tick, server: number): Anchor => ({ ...t, server, doubt: 20 })

describe('the server’s time of a press', () => {
  it('is right by any anchor of the same page, whatever the wall clock says', () => {
    fc.assert(
      fc.property(fc.integer({ min: -1e9, max: 1e9 }), fc.integer({ min: 0, max: 7.2e6 }), fc.integer({ min: 0, max: 7.2e6 }), (off, at, looked) => {
        const p = phone('a', off, 0)
        expect(serverTime(p(at), [anchor(p(looked), looked)])).toEqual({ ms: at, doubt: 20 })
      }),
    )
  })
  it('is right on a page that was closed before it was ever in reach, by the next page’s look', () => {
    const [first, second] = [phone('a', 120_000, 1_000), phone('b', 120_000, 50_000)]
    expect(serverTime(first(30_000), [anchor(second(60_000), 60_000)]).ms).toBe(30_000)
  })
  it('follows the page’s clock when the wall clock is set while the page is in sight', () => {
    const [before, after] = [phone('a', 0, 0), phone('a', -3_600_000, 0)]
    expect(serverTime(before(10_000), [anchor(after(90_000), 90_000)]).ms).toBe(10_000)
    expect(serverTime(after(80_000), [anchor(before(5_000), 5_000)]).ms).toBe(80_000)
    const forward = phone('a', 3_600_000, 0)
    expect(serverTime(forward(80_000), [anchor(before(5_000), 5_000)]).ms).toBe(80_000)
  })
  it('follows the wall clock over a sleep, in which the page’s stood still', () => {
    const awake = phone('a', 7_000, 0)
    const woken = phone('a', 7_000, 0, 1)
    expect(serverTime(awake(10_000), [anchor(woken(900_000, 800_000), 900_000)]).ms).toBe(10_000)
    expect(serverTime(woken(900_000, 800_000), [anchor(awake(10_000), 10_000)]).ms).toBe(900_000)
  })
  it('takes an anchor after the sleep for what was pressed after it', () => {
    const [awake, woken] = [phone('a', 0, 0), phone('a', 0, 0, 1)]
    const anchors = [anchor(awake(1_000), 1_000), anchor(woken(950_000, 800_000), 950_000)]
    expect(serverTime(woken(940_000, 800_000), anchors)).toEqual({ ms: 940_000, doubt: 20 })
    expect(serverTime(awake(2_000), anchors)).toEqual({ ms: 2_000, doubt: 20 })
  })
  it('is the phone’s word with a large doubt when nothing else is known', () => {
    expect(serverTime(phone('a', 120_000, 0)(5_000), [])).toEqual({ ms: 125_000, doubt: UNKNOWN_DOUBT })
  })
})

describe('looks at the server’s clock', () => {
  it('keep the quickest, half the way there after it', async () => {
    const took = [80, 10, 200]
    let now = 0
    const got = await look(
      () => ({ page: 'a', wall: now + 120_000, mono: now, hid: 0 }),
      () => {
        const t = took.shift()!
        now += t
        return Promise.resolve(now - t / 2)
      },
    )
    expect(got).toMatchObject({ server: 90, mono: 90, doubt: 5 })
  })
})
