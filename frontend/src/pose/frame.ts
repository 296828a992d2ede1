/**
 * The document in which the pose model runs: a frame of its own, so that when the model breaks the page does not. The
 * page sends pictures and is answered with the points of one body. Only the page's own origin is listened to.
 */
import type { Landmark } from './landmarks'

/** What goes in: a picture, which is closed here. */
export interface Asked {
  id: number
  picture: ImageBitmap
}
/** What comes out. `points` null: nobody is in the picture. */
export type Answer = { id: number; points: Landmark[] | null } | { id: number; problem: string } | { ready: true } | { broken: string }

interface Model {
  setOptions(o: Record<string, unknown>): void
  onResults(fn: (r: { poseLandmarks?: { x: number; y: number; visibility?: number }[] }) => void): void
  initialize(): Promise<void>
  send(input: { image: HTMLCanvasElement }): Promise<void>
}

declare const __POSE_FILES__: string
const say = (a: Answer) => parent.postMessage(a, location.origin)

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

let found: Landmark[] | null = null
async function open(): Promise<Model> {
  await script('pose.js')
  const { Pose } = window as unknown as { Pose: new (o: { locateFile(name: string): string }) => Model }
  const model = new Pose({ locateFile: (name) => __POSE_FILES__ + name })
  // Each picture by itself: nothing of an earlier one is carried over.
  model.setOptions({ modelComplexity: 1, staticImageMode: true, smoothLandmarks: false, enableSegmentation: false, minDetectionConfidence: 0.3 })
  model.onResults((r) => (found = r.poseLandmarks?.map((l) => ({ x: l.x, y: l.y, seen: l.visibility ?? 0 })) ?? null))
  await model.initialize()
  return model
}

const canvas = document.createElement('canvas')
const opening = open()
opening.then(
  () => say({ ready: true }),
  (err: unknown) => say({ broken: err instanceof Error ? err.message : String(err) }),
)

let line: Promise<void> = Promise.resolve()
async function look({ id, picture }: Asked): Promise<void> {
  try {
    const model = await opening
    canvas.width = picture.width
    canvas.height = picture.height
    canvas.getContext('2d')!.drawImage(picture, 0, 0)
    picture.close()
    found = null
    await model.send({ image: canvas })
    say({ id, points: found })
  } catch (err) {
    say({ id, problem: err instanceof Error ? err.message : String(err) })
  }
}

addEventListener('message', (e: MessageEvent<Asked>) => {
  if (e.origin !== location.origin || e.source !== parent) return
  line = line.then(() => look(e.data))
})
