import { call, head } from './client'
import type { RecordingChange } from './types'

/** Where the tus 1.0 protocol lives; tus-js-client speaks to it, not client.ts. */
export const TUS_ENDPOINT = '/api/uploads/'

export const uploads = (session: number) => call('get', '/api/sessions/{id}/uploads', { path: { id: session } })
export const dropUpload = (id: number) => call('delete', '/api/uploads/rows/{id}', { path: { id } })


/** How many bytes of one's own upload have arrived; null when that can't be known (it is somebody else's, or gone). */
export async function arrived(tusId: string): Promise<number | null> {
  try {
    const headers = await head(TUS_ENDPOINT + encodeURIComponent(tusId), { 'Tus-Resumable': '1.0.0' })
    const offset = Number(headers.get('Upload-Offset') ?? NaN)
    return Number.isFinite(offset) ? offset : null
  } catch {
    return null
  }
}

export const recording = (id: number) => call('get', '/api/recordings/{id}', { path: { id } })
export const changeRecording = (id: number, body: RecordingChange) =>
  call('patch', '/api/recordings/{id}', { path: { id }, body })
export const deleteRecording = (id: number) => call('delete', '/api/recordings/{id}', { path: { id } })
export const retryRecording = (id: number) => call('post', '/api/recordings/{id}/retry', { path: { id } })
export const cancelRecording = (id: number) => call('post', '/api/recordings/{id}/cancel', { path: { id } })
/** Finds the deliveries anew; what a person has touched stays. */
export const splitRecording = (id: number) => call('post', '/api/recordings/{id}/split', { path: { id } })
/** Gives the clock that a person has set back to the sound. */
export const alignRecording = (id: number) => call('post', '/api/recordings/{id}/align', { path: { id } })
/** Compares all of a session's recordings by their sound once more. */
export const alignSession = (id: number) => call('post', '/api/sessions/{id}/align', { path: { id } })
export const traces = (id: number) => call('get', '/api/recordings/{id}/traces', { path: { id } })
export const originalUrl = (id: number) => `/api/recordings/${id}/original`
/** What was heard half a second before and after a time of the recording's own clock. */
export const soundUrl = (id: number, at: number) => `/api/recordings/${id}/sound.wav?at_us=${at}`
