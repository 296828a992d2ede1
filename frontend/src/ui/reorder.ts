/**
 * Order by hand: an attachment for a vertical list whose rows carry `data-row` and a grip, a <button data-grip>.
 * Dragging the grip moves its row; so do the arrow keys, Home and End while the grip has focus.
 */
import { tick } from 'svelte'
import type { Attachment } from 'svelte/attachments'

export interface ReorderOptions {
  /** Move the row at `from` so that it stands at `to`. */
  move: (from: number, to: number) => void
}

/** A copy of a list with one entry moved. */
export function moved<T>(list: readonly T[], from: number, to: number): T[] {
  const out = [...list]
  const [x] = out.splice(from, 1)
  if (x !== undefined) out.splice(to, 0, x)
  return out
}

/** Where a row of which the middle now lies at `y` belongs among rows with these (unmoved) middles. */
export function placeOf(y: number, middles: readonly number[], from: number): number {
  let to = from
  while (to > 0 && y < middles[to - 1]!) to--
  while (to < middles.length - 1 && y > middles[to + 1]!) to++
  return to
}

const EDGE = 60

export function reorder(options: ReorderOptions): Attachment<HTMLElement> {
  return (list) => {
    const rows = () => [...list.querySelectorAll<HTMLElement>('[data-row]')].filter((r) => r.closest('[data-list]') === list)
    list.dataset.list = ''
    let end: (() => void) | null = null

    const gripOf = (target: EventTarget | null): HTMLElement | null => {
      const grip = target instanceof Element ? target.closest<HTMLElement>('[data-grip]') : null
      return grip?.closest('[data-list]') === list ? grip : null
    }

    const down = (e: PointerEvent) => {
      const grip = gripOf(e.target)
      const row = grip?.closest<HTMLElement>('[data-row]')
      if (!grip || !row || e.button !== 0 || end) return
      end = drag(e, grip, row, rows(), (from, to) => {
        end = null
        if (from !== to) options.move(from, to)
      })
    }

    const key = (e: KeyboardEvent) => {
      const grip = gripOf(e.target)
      const row = grip?.closest<HTMLElement>('[data-row]')
      if (!row || e.ctrlKey || e.metaKey || e.altKey) return
      const all = rows()
      const from = all.indexOf(row)
      const to = { ArrowUp: from - 1, ArrowDown: from + 1, Home: 0, End: all.length - 1 }[e.key]
      if (to === undefined) return
      e.preventDefault()
      if (to < 0 || to >= all.length || to === from) return
      options.move(from, to)
      void tick().then(() => rows()[to]?.querySelector<HTMLElement>('[data-grip]')?.focus())
    }

    list.addEventListener('pointerdown', down)
    list.addEventListener('keydown', key)
    return () => {
      list.removeEventListener('pointerdown', down)
      list.removeEventListener('keydown', key)
      end?.()
    }
  }
}

/** Follows one drag. The rows are only shifted to look at until the pointer is let go; Escape puts all back. */
function drag(
  start: PointerEvent,
  grip: HTMLElement,
  row: HTMLElement,
  rows: HTMLElement[],
  done: (from: number, to: number) => void,
): () => void {
  const from = rows.indexOf(row)
  const boxes = rows.map((r) => r.getBoundingClientRect())
  const middles = boxes.map((b) => b.top + b.height / 2)
  const own = boxes[from]!
  const gap = rows.length > 1 ? Math.max(0, boxes[1]!.top - boxes[0]!.bottom) : 0
  const scrolled = window.scrollY
  let to = from
  let y = start.clientY
  let frame = 0

  const draw = () => {
    frame = 0
    const shift = y - start.clientY + (window.scrollY - scrolled)
    to = placeOf(middles[from]! + shift, middles, from)
    rows.forEach((r, i) => {
      const aside = i === from ? shift : i > from && i <= to ? -(own.height + gap) : i < from && i >= to ? own.height + gap : 0
      r.style.translate = aside === 0 ? '' : `0 ${aside}px`
    })
    if (y < EDGE) window.scrollBy(0, -8)
    else if (y > window.innerHeight - EDGE) window.scrollBy(0, 8)
    else return
    frame = requestAnimationFrame(draw)
  }
  const move = (e: PointerEvent) => {
    if (e.pointerId !== start.pointerId) return
    y = e.clientY
    frame ||= requestAnimationFrame(draw)
  }
  const finish = (to: number) => {
    cancelAnimationFrame(frame)
    for (const r of rows) r.style.translate = ''
    row.classList.remove('dragged')
    grip.removeEventListener('pointermove', move)
    grip.removeEventListener('pointerup', up)
    grip.removeEventListener('pointercancel', cancel)
    document.removeEventListener('keydown', escape, true)
    done(from, to)
  }
  const up = (e: PointerEvent) => e.pointerId === start.pointerId && finish(to)
  const cancel = () => finish(from)
  const escape = (e: KeyboardEvent) => {
    if (e.key !== 'Escape') return
    e.preventDefault()
    e.stopPropagation()
    finish(from)
  }

  grip.setPointerCapture(start.pointerId)
  row.classList.add('dragged')
  grip.addEventListener('pointermove', move)
  grip.addEventListener('pointerup', up)
  grip.addEventListener('pointercancel', cancel)
  document.addEventListener('keydown', escape, true)
  return cancel
}
