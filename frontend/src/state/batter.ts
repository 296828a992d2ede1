/**
 * Where the batter is: the box is drawn once a camera, and a batter walks out of it. On a still a glance of the quick
 * model says whether they are in it; where they are not, they are followed there through the clip.
 */
import type { Ball, Micros } from '../api/types'
import { isThere, next, whereabouts, type Glimpse } from '../pose/follow'
import { roomy, type Body, type Box } from '../pose/landmarks'
import { find, glance, PoseUnavailable, quick, sizeOf, type Picture } from '../pose/pose'
import { frameOf, middleOf, sessionOf, timeAt, timeOf, type Track } from './player-track'

/** How long before contact following begins: the batter waits then, in the box that was drawn. */
const BEFORE = 1_600_000
/** Between two looks: nobody gets far from where they were in this. */
const EVERY = 100_000

/** The moment that is measured of a ball, if nobody says another: contact, or where that is not known its middle. */
export const momentOf = (ball: Pick<Ball, 'start_us' | 'contact_us' | 'end_us'>): Micros => ball.contact_us ?? (ball.start_us + ball.end_us) / 2

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
    if (signal.aborted) return stop()
    video.addEventListener(name, () => done(), { once: true })
    video.addEventListener('error', stop, { once: true })
    signal.addEventListener('abort', stop, { once: true })
  })
}

/** Shows frames of a clip, one after another, on a video of its own that nobody sees. */
async function through<T>(track: Track, signal: AbortSignal, use: (show: (frame: number) => Promise<HTMLVideoElement>) => Promise<T>): Promise<T> {
  const video = document.createElement('video')
  video.muted = true
  video.preload = 'auto'
  video.src = track.url
  try {
    await event(video, 'loadeddata', signal)
    return await use(async (frame) => {
      video.currentTime = middleOf(track.frames, frame) / 1e6
      await event(video, 'seeked', signal)
      return video
    })
  } finally {
    video.removeAttribute('src')
    video.load()
  }
}

/** The batter on the frames of a clip up to a time, as far as they were seen, beginning in the box. */
export async function follow(track: Track, box: Box, until: Micros, signal: AbortSignal): Promise<Glimpse[]> {
  await quick.open()
  return through(track, signal, async (show) => {
    const seen: Glimpse[] = []
    let where = roomy(box)
    for (const k of looks(track, until)) {
      const video = await show(k)
      const [w, h] = sizeOf(video)
      const joints = await glance(video, where)
      where = next(where, joints, w / h)
      if (isThere(joints)) seen.push({ at: sessionOf(track, timeOf(track, k)), joints, box: where })
    }
    return seen
  })
}

/** The batter's box on a still, as far as that can be told; else the box that was drawn. `way`: follows them there. */
export async function boxOn(still: Picture, drawn: Box, way: () => Promise<readonly Glimpse[]>): Promise<Box> {
  const [w, h] = sizeOf(still)
  try {
    const joints = await glance(still, roomy(drawn))
    if (isThere(joints)) return whereabouts(joints, w / h)
    const last = (await way()).at(-1)
    return last ? whereabouts(last.joints, w / h) : drawn
  } catch (err) {
    if (err instanceof PoseUnavailable) return drawn
    throw err
  }
}

/** Follows the batter of a ball to contact; nothing where there is no clip or no contact. */
export const wayTo = (ball: Ball, track: Track | null, box: Box, signal: AbortSignal): Promise<Glimpse[]> =>
  track && ball.contact_us !== null ? follow(track, box, ball.contact_us, signal) : Promise.resolve([])

/** A batter on a frame of a clip. */
export interface Look {
  /** The frame's time on the session clock. */
  at: Micros
  /** Null: nobody was made out. */
  body: Body | null
  /** The batter up to there, if they had to be followed. */
  way: readonly Glimpse[]
}

/** The batter of a ball at its moment, without showing it to anybody. */
export const lookAt = (ball: Ball, track: Track, drawn: Box, signal: AbortSignal): Promise<Look> =>
  through(track, signal, async (show) => {
    const frame = frameOf(track, timeAt(track, momentOf(ball)))
    const still = await show(frame)
    let way: readonly Glimpse[] = []
    const box = await boxOn(still, drawn, async () => (way = await wayTo(ball, track, drawn, signal)))
    signal.throwIfAborted()
    return { at: sessionOf(track, timeOf(track, frame)), body: await find(still, box), way }
  })
