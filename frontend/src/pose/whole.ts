/**
 * The model that knows heels and toes: `@mediapipe/pose`, 33 points. It calculates by WebGL and takes its time, so it is
 * for stills. Runs in the frame only.
 */
import type { Look } from './frame'
import type { Landmark } from './landmarks'

interface Model {
  setOptions(o: Record<string, unknown>): void
  onResults(fn: (r: { poseLandmarks?: { x: number; y: number; visibility?: number }[] }) => void): void
  initialize(): Promise<void>
  send(input: { image: HTMLCanvasElement }): Promise<void>
}

declare const __POSE_FILES__: string

/** The package's script is no module: it puts what it brings on the window. */
function script(name: string): Promise<void> {
  return new Promise((done, failed) => {
    const s = document.createElement('script')
    s.src = __POSE_FILES__ + name
    s.onload = () => done()
    s.onerror = () => failed(new Error('the model’s files could not be fetched'))
    document.head.append(s)
  })
}

export async function open(): Promise<Look> {
  await script('pose.js')
  const { Pose } = window as unknown as { Pose: new (o: { locateFile(name: string): string }) => Model }
  const model = new Pose({ locateFile: (name) => __POSE_FILES__ + name })
  model.setOptions({ modelComplexity: 1, smoothLandmarks: false, enableSegmentation: false, minDetectionConfidence: 0.3 })
  let found: Landmark[] | null = null
  model.onResults((r) => (found = r.poseLandmarks?.map((l) => ({ x: l.x, y: l.y, seen: l.visibility ?? 0 })) ?? null))
  await model.initialize()
  const canvas = document.createElement('canvas')
  const pen = canvas.getContext('2d')!
  let clean: Promise<void> = Promise.resolve()
  return async (picture) => {
    await clean
    canvas.width = picture.width
    canvas.height = picture.height
    pen.drawImage(picture, 0, 0)
    found = null
    // Twice: first where a body is, then its points once more from where it lies by the first ones. Those alone may have
    // both feet between the legs, from one crop of a picture and not from another a few pixels wider.
    await model.send({ image: canvas })
    await model.send({ image: canvas })
    const points = found
    // The model looks first where it saw the last body, as if all pictures were of one film. An empty one makes it
    // forget, so that a picture's points do not depend on what came before; its own reset opens it anew, which takes
    // many times as long. Who asked does not wait for this.
    pen.clearRect(0, 0, canvas.width, canvas.height)
    clean = model.send({ image: canvas })
    return points
  }
}
