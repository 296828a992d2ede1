/**
 * Where the batter is: the box is drawn once a camera, and a batter walks out of it. On a still a glance of the quick
 * model says whether they are in it; where they are not, they are followed there through the clip.
 */
import type { Ball, Micros } from '../api/types'
import { isThere, next, tight, type Glimpse } from '../pose/follow'
import { roomy, type Box } from '../pose/landmarks'
import { glance, PoseUnavailable, quick, sizeOf, type Picture } from '../pose/pose'
import { frameOf, middleOf, sessionOf, timeAt, timeOf, type Track } from './player-track'

/** How long before contact following begins: the batter waits then, in the box that was drawn. */
const BEFORE = 1_600_000
/** Between two looks: nobody gets far from where they were in this. */
const EVERY = 60_000
/** Room around what was seen of a body: heels, toes and the hair lie outside the model's points. */
const MARGIN = 0.2

/** The frames of a clip that are looked at, up to a time of the session clock. Pure. */
export function looks(track: Track, until: Micros): number[] {
  const end = timeAt(track, until)
  const frames: number[] = []
  for (let t = Math.max(0, end - BEFORE); t < end; t += EVERY) frames.push(frameOf(track, t))
  return [...new Set([...frames, frameOf(track, end)])]
}

function event(video: HTMLVideoElement, name: string, signal: AbortSignal): Promise<void> {
  return new Promise((done, failed) => {
    const stop = () => failed(new PoseUnavailable('The clip can’t be looked through.'))
    video.addEventListener(name, () => done(), { once: true })
    video.addEventListener('error', stop, { once: true })
    signal.addEventListener('abort', stop, { once: true })
  })
}

/** The batter on the frames of a clip up to a time, as far as they were seen, beginning in the box. */
export async function follow(track: Track, box: Box, until: Micros, signal: AbortSignal): Promise<Glimpse[]> {
  await quick.open()
  const video = document.createElement('video')
  video.muted = true
  video.preload = 'auto'
  video.src = track.url
  try {
    await event(video, 'loadeddata', signal)
    const [w, h] = sizeOf(video)
    const seen: Glimpse[] = []
    let where = roomy(box)
    for (const k of looks(track, until)) {
      video.currentTime = middleOf(track.frames, k) / 1e6
      await event(video, 'seeked', signal)
      const joints = await glance(video, where)
      where = next(where, joints, w / h)
      if (isThere(joints)) seen.push({ at: sessionOf(track, timeOf(track, k)), joints, box: where })
    }
    return seen
  } finally {
    video.removeAttribute('src')
    video.load()
  }
}

/** The batter's box on a still, as far as that can be told; else the box that was drawn. `way`: follows them there. */
export async function boxOn(still: Picture, drawn: Box, way: () => Promise<readonly Glimpse[]>): Promise<Box> {
  try {
    const joints = await glance(still, roomy(drawn))
    if (isThere(joints)) return within(roomy(tight(joints), MARGIN))
    const last = (await way()).at(-1)
    return last ? within(roomy(tight(last.joints), MARGIN)) : drawn
  } catch (err) {
    if (err instanceof PoseUnavailable) return drawn
    throw err
  }
}

/** The part of a box that is in the picture. */
function within(box: Box): Box {
  const [x, y] = [Math.max(0, box.x), Math.max(0, box.y)]
  return { x, y, width: Math.min(1, box.x + box.width) - x, height: Math.min(1, box.y + box.height) - y }
}

/** Follows the batter of a ball to contact; nothing where there is no clip or no contact. */
export const wayTo = (ball: Ball, track: Track | null, box: Box, signal: AbortSignal): Promise<Glimpse[]> =>
  track && ball.contact_us !== null ? follow(track, box, ball.contact_us, signal) : Promise.resolve([])
