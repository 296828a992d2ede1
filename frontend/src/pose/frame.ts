/**
 * The document in which a pose model runs: a frame of its own, so that when a model breaks the page does not. A frame has
 * one model, which its address names: `#quick` the one that follows a body through a clip, else the one that knows heels
 * and toes. Only the page's own origin is listened to.
 */
import type { Landmark } from './landmarks'

/** What goes in: a picture, which is closed here. */
export interface Asked {
  id: number
  picture: ImageBitmap
}
/** What comes out. `points` null: nobody is in the picture. */
export type Answer = { id: number; points: Landmark[] | null } | { id: number; problem: string } | { ready: true } | { broken: string }

/** A model that is open: the points of one body in a picture, in the model's own order. */
export type Look = (picture: ImageBitmap) => Promise<Landmark[] | null>

const say = (a: Answer) => parent.postMessage(a, location.origin)
const wordsOf = (err: unknown) => (err instanceof Error ? err.message : String(err))

const opening: Promise<Look> = (location.hash === '#quick' ? import('./quick') : import('./whole')).then((m) => m.open())
opening.then(
  () => say({ ready: true }),
  (err: unknown) => say({ broken: wordsOf(err) }),
)

let line: Promise<void> = Promise.resolve()
async function answer({ id, picture }: Asked): Promise<void> {
  try {
    const look = await opening
    say({ id, points: await look(picture) })
  } catch (err) {
    say({ id, problem: wordsOf(err) })
  } finally {
    picture.close()
  }
}

addEventListener('message', (e: MessageEvent<Asked>) => {
  if (e.origin !== location.origin || e.source !== parent) return
  line = line.then(() => answer(e.data))
})
