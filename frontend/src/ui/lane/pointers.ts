/**
 * What pointers do on the lane's rows. One finger moves along, two pinch; a mouse draws a ball over an empty stretch and
 * moves along when it sets out on a ball. A press that stays in place is left to be a click.
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
}

export function lanePointers({ desk, drawing, drawn }: Options) {
  return (node: HTMLElement) => {
    const held = new Map<number, number>() // pointer -> where it was last
    let begun = 0
    let moved = false
    let draw: Draw | null = null
    const at = (e: { clientX: number }) => e.clientX - node.getBoundingClientRect().left

    const down = (e: PointerEvent) => {
      if (e.button !== 0 || (e.target as Element).closest('[data-edge]')) return // an edge is dragged by itself
      const x = at(e)
      held.set(e.pointerId, x)
      if (held.size > 1) return
      begun = x
      moved = false
      const t = timeAt(desk.view, x)
      if (e.pointerType === 'mouse' && !ballAt(desk.onLane, desk.view, x)) draw = { from: t, to: t }
    }
    const move = (e: PointerEvent) => {
      const before = held.get(e.pointerId)
      if (before === undefined) return
      const x = at(e)
      if (!moved && held.size === 1 && Math.abs(x - begun) < STILL) return
      moved = true
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
      if (!held.delete(e.pointerId) || !draw) return
      const d = draw
      draw = null
      drawing(null)
      if (e.type === 'pointerup' && Math.abs(d.to - d.from) > 8 * desk.view.scale) drawn(d)
    }
    // What went far was no click; a click without a pointer (detail 0) is always one.
    const click = (e: MouseEvent) => {
      if (e.detail === 0 || !moved) return
      e.stopImmediatePropagation()
      moved = false
    }
    const wheel = (e: WheelEvent) => {
      const unit = e.deltaMode === 1 ? 16 : 1
      e.preventDefault()
      if (e.shiftKey || Math.abs(e.deltaX) > Math.abs(e.deltaY)) desk.pan((e.deltaX || e.deltaY) * unit)
      else desk.zoom(Math.exp(e.deltaY * unit * 0.0022), at(e))
    }
    node.addEventListener('pointerdown', down)
    node.addEventListener('pointermove', move)
    node.addEventListener('pointerup', up)
    node.addEventListener('pointercancel', up)
    node.addEventListener('click', click, true)
    node.addEventListener('wheel', wheel, { passive: false })
    return () => {
      node.removeEventListener('pointerdown', down)
      node.removeEventListener('pointermove', move)
      node.removeEventListener('pointerup', up)
      node.removeEventListener('pointercancel', up)
      node.removeEventListener('click', click, true)
      node.removeEventListener('wheel', wheel)
    }
  }
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
    moved = true
    if (!on.hasPointerCapture(e.pointerId)) on.setPointerCapture(e.pointerId)
    move(m.clientX - from)
  }
  const gone = (u: PointerEvent) => {
    if (u.pointerId !== e.pointerId) return
    on.removeEventListener('pointermove', going)
    on.removeEventListener('pointerup', gone)
    on.removeEventListener('pointercancel', gone)
    if (!moved) return
    if (u.type === 'pointerup') {
      on.addEventListener('click', swallow, { capture: true, once: true })
      setTimeout(() => on.removeEventListener('click', swallow, true))
    }
    over(u.type === 'pointerup')
  }
  on.addEventListener('pointermove', going)
  on.addEventListener('pointerup', gone)
  on.addEventListener('pointercancel', gone)
}

const swallow = (e: Event) => {
  e.stopPropagation()
  e.preventDefault()
}
