/** Times as people read them. All times are whole microseconds (`Micros`). */

export const SECOND = 1_000_000

/**
 * A time as m:ss, with so many decimals of the second (0, 1 or 3): "1:05", "1:05.2", "1:05.240". It is cut, not
 * rounded, so that it never names a moment that is still to come. Minutes go on past 59: "75:03".
 */
export function clock(us: number, decimals: 0 | 1 | 3 = 0): string {
  const unit = 10 ** (6 - decimals)
  const whole = Math.floor(Math.abs(us) / unit)
  const perSecond = 10 ** decimals
  const seconds = Math.floor(whole / perSecond)
  const sign = us < 0 && whole > 0 ? '−' : ''
  const fraction = decimals === 0 ? '' : '.' + String(whole % perSecond).padStart(decimals, '0')
  return `${sign}${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')}${fraction}`
}

/** Reads "1:05", "1:05.24", "65", "-0:03.5" or "75:03"; null when it is no time. */
export function parseClock(text: string): number | null {
  const m = /^\s*([+\-−]?)(?:(\d{1,4}):([0-5]?\d)|(\d{1,6}))(?:[.,](\d{1,6}))?\s*$/.exec(text)
  if (!m) return null
  const seconds = m[4] === undefined ? Number(m[2]) * 60 + Number(m[3]) : Number(m[4])
  const us = seconds * SECOND + Number((m[5] ?? '').padEnd(6, '0'))
  return m[1] === '-' || m[1] === '−' ? (us === 0 ? 0 : -us) : us
}

/** A wait in words: "a few seconds", "40 s", "3 min", "1 h 20 min". */
export function roughly(seconds: number): string {
  if (!Number.isFinite(seconds) || seconds < 0) return 'some time'
  if (seconds < 5) return 'a few seconds'
  if (seconds < 55) return `${Math.ceil(seconds / 5) * 5} s`
  const minutes = Math.round(seconds / 60)
  if (minutes < 60) return `${Math.max(1, minutes)} min`
  return `${Math.floor(minutes / 60)} h ${minutes % 60} min`
}

const DAY = new Intl.DateTimeFormat('en-GB', { weekday: 'short', day: 'numeric', month: 'short', year: 'numeric', timeZone: 'UTC' })

/** An ISO date ("2026-01-31") as "Sat 31 Jan 2026". */
export function day(iso: string): string {
  const t = Date.parse(`${iso}T00:00:00Z`)
  return Number.isNaN(t) ? iso : DAY.format(t).replace(',', '')
}

/** Today here, as an ISO date. */
export function today(now = new Date()): string {
  return `${now.getFullYear()}-${String(now.getMonth() + 1).padStart(2, '0')}-${String(now.getDate()).padStart(2, '0')}`
}

const MOMENT = new Intl.DateTimeFormat('en-GB', { day: 'numeric', month: 'short', year: 'numeric', hour: '2-digit', minute: '2-digit' })

/** A point in time of the server ("2026-01-31T10:20:00Z") as "31 Jan 2026, 10:20", here. */
export function moment(iso: string): string {
  const t = Date.parse(iso)
  return Number.isNaN(t) ? iso : MOMENT.format(t)
}

/** Bytes as people read them: "18.2 MB", decimal as file managers on phones show them. */
export function bytes(n: number): string {
  if (n < 1000) return `${n} bytes`
  const units = ['kB', 'MB', 'GB', 'TB']
  let v = n / 1000
  let i = 0
  while (v >= 999.5 && i < units.length - 1) {
    v /= 1000
    i++
  }
  return `${v < 100 ? v.toFixed(1) : Math.round(v)} ${units[i]}`
}
