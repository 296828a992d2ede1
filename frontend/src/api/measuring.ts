import { call } from './client'
import type { CalibrationInput } from './types'

/** The picture of a recording at a time of its own clock, as large as the film. */
export const stillUrl = (recording: number, at: number) => `/api/recordings/${recording}/still?at_us=${Math.max(0, Math.round(at))}`

export const calibration = (recording: number) => call('get', '/api/recordings/{id}/calibration', { path: { id: recording } })
/** Solves what was clicked and keeps nothing. */
export const tryCalibration = (recording: number, body: CalibrationInput, signal?: AbortSignal) =>
  call('post', '/api/recordings/{id}/calibration/try', { path: { id: recording }, body, signal })
export const saveCalibration = (recording: number, body: CalibrationInput) =>
  call('put', '/api/recordings/{id}/calibration', { path: { id: recording }, body })
