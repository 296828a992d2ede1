/**
 * When something was pressed, by the server's clock, from a phone whose own clock may be wrong or jump. Two clocks of
 * the phone are noted at each press: the wall's (Date), which may be set, and the page's (performance), which never
 * goes back but may stand still while the phone sleeps, and begins anew with each page. An anchor is a moment at which
 * the server's clock was read as well. Pure.
 */

/** A moment by the phone's two clocks, in ms. */
export interface Tick {
  /** Which loading of the page: its clock is good for nothing else. */
  page: string
  wall: number
  mono: number
  /** How often the page has been hidden so far: the phone may have slept each time. */
  hid: number
}

export interface Anchor extends Tick {
  server: number
  /** By how much `server` may be off, in ms. */
  doubt: number
}

/** The phone's clocks drift by less than this between two looks; a greater step was made by somebody. */
const STEP = 250

/** Nothing is known of how far off the phone's wall clock is. */
export const UNKNOWN_DOUBT = 600_000

export interface Reading {
  ms: number
  doubt: number
}

/** The server's time at a tick, from what anchors there are. */
export function serverTime(t: Tick, anchors: readonly Anchor[]): Reading {
  const near = <A extends Anchor>(list: readonly A[], far: (a: A) => number) =>
    list.reduce<A | null>((best, a) => (best === null || far(a) < far(best) ? a : best), null)
  const here = anchors.filter((a) => a.page === t.page)

  // The two clocks still agree as they did: nothing happened in between.
  const same = near(here.filter((a) => Math.abs(skew(a) - skew(t)) <= STEP), (a) => Math.abs(a.mono - t.mono))
  if (same) return byMono(t, same, same.doubt)

  // One of them is not what it was. If the page was in sight all along, the wall clock was set; else the phone slept.
  const seen = near(here.filter((a) => a.hid === t.hid), (a) => Math.abs(a.mono - t.mono))
  if (seen) return byMono(t, seen, seen.doubt + STEP)
  const other = near(here, (a) => Math.abs(a.mono - t.mono))
  if (other) {
    const off = Math.abs(skew(other) - skew(t))
    // A page's clock never runs fast: if the wall clock fell behind it, it was set back.
    const setBack = (skew(t) - skew(other)) * (t.mono - other.mono) < 0
    return setBack ? byMono(t, other, other.doubt + STEP) : { ...byWall(t, other), doubt: Math.min(UNKNOWN_DOUBT, other.doubt + off) }
  }

  // Another loading of the page: its wall clock is off as it was at the nearest look.
  const elsewhere = near(anchors, (a) => Math.abs(a.wall - t.wall))
  if (elsewhere) return { ...byWall(t, elsewhere), doubt: elsewhere.doubt + STEP }
  return { ms: t.wall, doubt: UNKNOWN_DOUBT }
}

const skew = (t: Tick) => t.wall - t.mono
const byMono = (t: Tick, a: Anchor, doubt: number): Reading => ({ ms: Math.round(a.server + (t.mono - a.mono)), doubt: Math.round(doubt) })
const byWall = (t: Tick, a: Anchor): Reading => ({ ms: Math.round(a.server + (t.wall - a.wall)), doubt: Math.round(a.doubt) })

/** Of several looks at the server's clock, the one that took the shortest way there and back. */
export async function look(tick: () => Tick, ask: () => Promise<number>, times = 3): Promise<Anchor> {
  let best: Anchor | null = null
  for (let i = 0; i < times; i++) {
    const before = tick()
    const server = await ask()
    const after = tick()
    const took = after.mono - before.mono
    const anchor = { ...after, server: server + took / 2, doubt: Math.ceil(took / 2) }
    if (best === null || anchor.doubt < best.doubt) best = anchor
  }
  return best!
}
