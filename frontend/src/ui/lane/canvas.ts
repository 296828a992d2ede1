/** A canvas wiped clean and as fine as the screen, to be drawn on in CSS pixels; null where there is nothing to draw on. */
export function blank(canvas: HTMLCanvasElement, width: number, height: number): CanvasRenderingContext2D | null {
  const c = canvas.getContext('2d')
  if (!c || width === 0) return null
  const ratio = window.devicePixelRatio || 1
  canvas.width = Math.round(width * ratio)
  canvas.height = Math.round(height * ratio)
  c.scale(ratio, ratio)
  return c
}
