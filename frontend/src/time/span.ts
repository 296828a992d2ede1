/** Stretches of time and the two clocks they lie on. The rules are those of the server's media package. */

/** A half-open stretch [start, end) in whole microseconds. */
export interface Span {
  start: number
  end: number
}

export const length = (s: Span): number => s.end - s.start
export const clamp = (t: number, low: number, high: number): number => Math.min(Math.max(t, low), high)

/** How a recording's own clock lies on the session's: session = offset + own * (1 + rate_ppm / 1e6). */
export interface Clock {
  offset_us: number
  rate_ppm: number
}

// The server rounds halves away from zero; Math.round rounds them up.
const round = (x: number): number => (x < 0 ? -Math.round(-x) : Math.round(x))

export const toSession = (c: Clock, own: number): number => c.offset_us + own + round((own * c.rate_ppm) / 1e6)
export const toRecording = (c: Clock, session: number): number => round((session - c.offset_us) / (1 + c.rate_ppm / 1e6))
