import type { Ball } from '../api/types'

/** The address of the picture that stands for a ball: the side-on camera's, else the first there is. */
export const ballPoster = (b: Ball): string | undefined => (b.clips.find((c) => c.camera === 'side-on') ?? b.clips[0])?.poster
