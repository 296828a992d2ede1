/**
 * What pointers do on the lane's rows. One finger moves along, two pinch; a mouse draws a ball over an empty stretch and
 * moves along when it sets out on a ball. One that stays in place presses.
 */
import type { LaneDesk } from '../../state/lane.svelte'
import { ballAt, timeAt } from '../../state/lane-view'

/** A pointer that went less than this has pressed, pixels. */
export const STILL = 5

export interface Draw {
  from: number
  to: number
}

interface Options {
  desk: LaneDesk
  /** A ball is being drawn between two moments; null: no longer. */
  drawing: (d: Draw | null) => void
  drawn: (d: Draw) => void
  /** A pointer pressed a recording's row at x, and stayed in place. */
  press: (recording: number, x: number) => void
}

export function lanePointers({ desk, drawing, drawn, press }: Options) {
  return (node: HTMLElement) => {
    const held = new Map<number, number>() // pointer -> where it was last
    let row: HTMLElement | null = null
    let onEdge = false // an edge is dragged by itself; pressed it means what lies under it
    let begun = 0
    let moved = false
    let draw: Draw | null = null
    const at = (e: { clientX: number }) => e.clientX - node.getBoundingClientRect().left

    const down = (e: PointerEvent) => {
      const on = e.target as Element
      row = on.closest<HTMLElement>('[data-recording]')
      if (e.button !== 0 || !row) return
      const x = at(e)
      held.set(e.pointerId, x)
      if (held.size > 1) return
      begun = x
      moved = false
      onEdge = on.closest('[data-edge]') !== null
      const t = timeAt(desk.view, x)
      if (e.pointerType === 'mouse' && !onEdge && !ballAt(desk.onLane, desk.view, x)) draw = { from: t, to: t }
    }
    const move = (e: PointerEvent) => {
      const before = held.get(e.pointerId)
      if (before === undefined) return
      const x = at(e)
      if (!moved && held.size === 1 && Math.abs(x - begun) < STILL) return
      moved = true
      if (onEdge) return
      held.set(e.pointerId, x)
      if (!node.hasPointerCapture(e.pointerId)) node.setPointerCapture(e.pointerId)
      if (held.size > 1) {
        const other = [...held].find(([id]) => id !== e.pointerId)![1]
        const [was, is] = [Math.abs(before - other), Math.abs(x - other)]
        if (was > 8 && is > 8) desk.zoom(was / is, (x + other) / 2)
      } else if (draw) drawing((draw = { from: draw.from, to: timeAt(desk.view, x) }))
      else desk.pan(before - x)
    }
    const up = (e: PointerEvent) => {
      if (!held.delete(e.pointerId)) return
      const d = draw
      draw = null
      drawing(null)
      if (e.type !== 'pointerup') return
      if (!moved && row && held.size === 0) press(Number(row.dataset.recording), begun)
      else if (d && Math.abs(d.to - d.from) > 8 * desk.view.scale) drawn(d)
    }
    // Pointers are seen to above (a tap on a lane that still glides is no click); what is left comes without one.
    const click = (e: MouseEvent) => {
      if (e.detail !== 0 && (e.target as Element).closest('[data-recording]')) e.stopImmediatePropagation()
    }
    const wheel = (e: WheelEvent) => {
      const unit = e.deltaMode === 1 ? 16 : 1
      e.preventDefault()
      if (e.shiftKey || Math.abs(e.deltaX) > Math.abs(e.deltaY)) desk.pan((e.deltaX || e.deltaY) * unit)
      else desk.zoom(Math.exp(e.deltaY * unit * 0.0022), at(e))
    }
    return listen(
      [node, 'pointerdown', down],
      [node, 'click', click, { capture: true }],
      [node, 'wheel', wheel, { passive: false }],
      // A quick pointer has left the rows before it is known to drag.
      [window, 'pointermove', move],
      [window, 'pointerup', up],
      [window, 'pointercancel', up],
    )
  }
}

type Listener = [EventTarget, string, (e: any) => void, AddEventListenerOptions?]

/** Listens until the returned function is called. */
function listen(...all: Listener[]): () => void {
  const done = new AbortController()
  for (const [on, name, fn, options] of all) on.addEventListener(name, fn, { ...options, signal: done.signal })
  return () => done.abort()
}

/**
 * Follows one pointer from where it went down: `move` is told how far it went, once it has gone further than a press;
 * `over` whether that stands (a cancelled drag does not). A press is left to be a click.
 */
export function drag(e: PointerEvent, move: (dx: number) => void, over: (stands: boolean) => void): void {
  if (e.button !== 0) return
  e.stopPropagation()
  const on = e.currentTarget as HTMLElement
  const from = e.clientX
  let moved = false
  const going = (m: PointerEvent) => {
    if (m.pointerId !== e.pointerId || (!moved && Math.abs(m.clientX - from) < STILL)) return
    if (!moved) on.setPointerCapture(e.pointerId) // the cursor stays what it is
    moved = true
    move(m.clientX - from)
  }
  const gone = (u: PointerEvent) => {
    if (u.pointerId !== e.pointerId) return
    stop()
    if (!moved) return
    if (u.type === 'pointerup') {
      const click = listen([window, 'click', swallow, { capture: true, once: true }])
      setTimeout(click)
    }
    over(u.type === 'pointerup')
  }
  const stop = listen([window, 'pointermove', going], [window, 'pointerup', gone], [window, 'pointercancel', gone])
}

const swallow = (e: Event) => {
  e.stopImmediatePropagation()
  e.preventDefault()
}
