/** How far a recording has come, in words. */
import type { Recording } from '../../api/types'

const STEPS = ['probe', 'split', 'clips'] as const
const NAMES: Record<string, string> = {
  probe: 'Looking at the file',
  split: 'Finding the balls',
  clips: 'Cutting the clips',
}

export interface Standing {
  /** What is going on, or what became of it. */
  text: string
  tone: 'plain' | 'accent' | 'good' | 'bad'
  /** Work is under way or due: 0 to 1, null while not known. */
  progress?: number | null
  canRetry: boolean
  canCancel: boolean
}

export function standingOf(r: Recording): Standing {
  if (r.state === 'failed') return { text: r.problem || 'Something went wrong', tone: 'bad', canRetry: true, canCancel: false }
  if (r.state === 'cancelled') return { text: 'Stopped', tone: 'plain', canRetry: true, canCancel: false }
  const at = STEPS.indexOf(r.step as (typeof STEPS)[number])
  if (r.step !== '') {
    const name = NAMES[r.step] ?? 'At work'
    const text = at >= 0 ? `Step ${at + 1} of ${STEPS.length}: ${name.toLowerCase()}` : name
    return { text, tone: 'accent', progress: r.progress > 0 ? r.progress : null, canRetry: false, canCancel: true }
  }
  if (r.state === 'ready') return { text: 'Ready', tone: 'good', canRetry: false, canCancel: false }
  return { text: 'Waits for its turn', tone: 'accent', progress: null, canRetry: false, canCancel: true }
}

/** What is known of the picture and the sound: "1280 × 720, 50 frames a second, H.264, no sound". */
export function facts(r: Recording): string[] {
  const out: string[] = []
  if (r.width && r.height) out.push(`${r.width} × ${r.height}`)
  if (r.frame_rate) out.push(`${Number(r.frame_rate.toFixed(2))} frames a second`)
  if (r.video_codec) out.push(CODECS[r.video_codec] ?? r.video_codec)
  if (r.width && !r.has_sound) out.push('no sound')
  return out
}
const CODECS: Record<string, string> = { h264: 'H.264', hevc: 'HEVC', av1: 'AV1', vp9: 'VP9', mpeg4: 'MPEG-4' }
