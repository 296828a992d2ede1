/** The two models, one of each for the whole page, asked about a part of a picture. */
import { bodyOf, jointsOf, outOf, roomy, squared, type Body, type Box, type Joints } from './landmarks'
import { PoseModel } from './model'

export { PoseUnavailable } from './model'
export type Picture = HTMLCanvasElement | HTMLVideoElement | ImageBitmap

/** Knows heels and toes; for stills. It calculates by WebGL. */
export const whole = new PoseModel('whole', canDraw)
/** Follows a body from frame to frame; it needs no WebGL. */
export const quick = new PoseModel('quick', () => 'WebAssembly' in globalThis && 'OffscreenCanvas' in globalThis)

/** Small pictures broke the model, and large ones are shrunk by it anyway: the longer side lies between these, pixels. */
const LEAST = 384
const MOST = 1024
/** The quick model takes squares of this size. */
const SQUARE = 192

let draws: boolean | null = null
function canDraw(): boolean {
  draws ??= document.createElement('canvas').getContext('webgl2') !== null
  return draws
}

/** Width and height of what a picture shows, pixels. */
export function sizeOf(p: Picture): [number, number] {
  return p instanceof HTMLVideoElement ? [p.videoWidth, p.videoHeight] : [p.width, p.height]
}

/** A part of a picture in whole pixels, and as shares again. */
function cut(source: Picture, part: Box): { px: [number, number, number, number]; box: Box } {
  const [w, h] = sizeOf(source)
  const [x, y] = [Math.round(part.x * w), Math.round(part.y * h)]
  const [width, height] = [Math.max(1, Math.round(part.width * w)), Math.max(1, Math.round(part.height * h))]
  return { px: [x, y, width, height], box: { x: x / w, y: y / h, width: width / w, height: height / h } }
}

/** The batter in a part of a picture (null: in all of it), with heels and toes; shares of the whole. Null: nobody is there. */
export async function find(source: Picture, box: Box | null): Promise<Body | null> {
  await whole.open()
  const part = cut(source, box ? roomy(box) : { x: 0, y: 0, width: 1, height: 1 })
  const [, , width, height] = part.px
  const longer = Math.max(width, height)
  const scale = Math.min(MOST, Math.max(LEAST, longer)) / longer
  const size = { resizeWidth: Math.round(width * scale), resizeHeight: Math.round(height * scale), resizeQuality: 'high' } as const
  const body = bodyOf(await whole.ask(await createImageBitmap(source, ...part.px, size)))
  return body && outOf(part.box, body)
}

/** The same without heels and toes, in a fraction of the time. It always answers: whether somebody is there, `Landmark.seen` says. */
export async function glance(source: Picture, box: Box): Promise<Joints | null> {
  await quick.open()
  const [w, h] = sizeOf(source)
  const part = cut(source, squared(box, w / h))
  const size = { resizeWidth: SQUARE, resizeHeight: SQUARE, resizeQuality: 'high' } as const
  const joints = jointsOf(await quick.ask(await createImageBitmap(source, ...part.px, size)))
  return joints && outOf(part.box, joints)
}
