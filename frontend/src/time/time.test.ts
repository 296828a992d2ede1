import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { bytes, clock, day, parseClock, roughly, SECOND, today } from './time'
import { toRecording, toSession } from './span'

describe('clock', () => {
  it.each([
    [0, 0, '0:00'],
    [65 * SECOND, 0, '1:05'],
    [59_999_999, 0, '0:59'],
    [65_240_000, 1, '1:05.2'],
    [65_299_999, 1, '1:05.2'],
    [65_240_000, 3, '1:05.240'],
    [75 * 60 * SECOND + 3 * SECOND, 0, '75:03'],
    [-3_500_000, 1, '−0:03.5'],
    [-400, 0, '0:00'],
  ] as const)('%i with %i decimals is %s', (us, decimals, text) => {
    expect(clock(us, decimals)).toBe(text)
  })

  it('is read back to the millisecond', () => {
    fc.assert(
      fc.property(fc.integer({ min: -9_000_000, max: 9_000_000 }), (ms) => {
        expect(parseClock(clock(ms * 1000, 3))).toBe(ms * 1000 || 0)
      }),
    )
  })
})

describe('parseClock', () => {
  it.each([
    ['1:05', 65_000_000],
    [' 65 ', 65_000_000],
    ['1:05.24', 65_240_000],
    ['1:05,5', 65_500_000],
    ['-0:03.5', -3_500_000],
    ['−0:03.5', -3_500_000],
    ['75:03', 4_503_000_000],
    ['', null],
    ['1:75', null],
    ['1:05:20', null],
    ['soon', null],
    ['1e3', null],
  ])('reads %j', (text, us) => {
    expect(parseClock(text)).toBe(us)
  })
})

describe('words for people', () => {
  it.each([
    [0, 'a few seconds'],
    [12, '15 s'],
    [61, '1 min'],
    [4800, '1 h 20 min'],
    [Infinity, 'some time'],
  ])('%d seconds are %s', (s, text) => expect(roughly(s)).toBe(text))
  it.each([
    [999, '999 bytes'],
    [1000, '1.0 kB'],
    [18_240_000, '18.2 MB'],
    [7_320_000_000, '7.3 GB'],
    [999_999_999, '1.0 GB'],
  ])('%d bytes are %s', (n, text) => expect(bytes(n)).toBe(text))
  it('names days', () => {
    expect(day('2026-01-31')).toBe('Sat 31 Jan 2026')
    expect(day('no date')).toBe('no date')
    expect(today(new Date(2026, 0, 5, 23, 59))).toBe('2026-01-05')
  })
})

describe('two clocks', () => {
  const arbClock = fc.record({
    offset_us: fc.integer({ min: -3_600_000_000, max: 3_600_000_000 }),
    rate_ppm: fc.double({ min: -200, max: 200, noNaN: true }),
  })
  it('go there and back to the microsecond', () => {
    fc.assert(
      fc.property(arbClock, fc.integer({ min: 0, max: 7_200_000_000 }), (c, own) => {
        expect(Math.abs(toRecording(c, toSession(c, own)) - own)).toBeLessThanOrEqual(1)
      }),
    )
  })
  it('round halves away from zero, as the server does', () => {
    expect(toSession({ offset_us: 0, rate_ppm: 500_000 }, -1)).toBe(-2)
    expect(toSession({ offset_us: 0, rate_ppm: 500_000 }, 1)).toBe(2)
  })
})
