import { call, file } from './client'
import type { CalibrationInput, Measures, Reading, ReadingInput, Yardsticks } from './types'

/** The picture of a recording at a time of its own clock, as large as the film. */
export const stillUrl = (recording: number, at: number) => `/api/recordings/${recording}/still?at_us=${Math.max(0, Math.round(at))}`
/** That picture. Rejects with ApiError. */
export const still = (recording: number, at: number) => file(stillUrl(recording, at))

export const calibration = (recording: number) => call('get', '/api/recordings/{id}/calibration', { path: { id: recording } })
/** Solves what was clicked and keeps nothing. */
export const tryCalibration = (recording: number, body: CalibrationInput, signal?: AbortSignal) =>
  call('post', '/api/recordings/{id}/calibration/try', { path: { id: recording }, body, signal })
export const saveCalibration = (recording: number, body: CalibrationInput) =>
  call('put', '/api/recordings/{id}/calibration', { path: { id: recording }, body })

let known: Promise<Measures> | null = null
/** What can be measured and clicked; fetched once. */
export function measures(): Promise<Measures> {
  known ??= call('get', '/api/measures').catch((err: unknown) => {
    known = null
    throw err
  })
  return known
}

/** Computes what follows from points and keeps nothing. */
export const tryReading = (body: ReadingInput, signal?: AbortSignal) => call('post', '/api/readings/try', { body, signal })
/** Keeps points; sending them again changes nothing. */
export const addReading = (body: ReadingInput) => call('post', '/api/readings', { body })
export const judgeReading = (id: number, status: Reading['status']) =>
  call('post', '/api/readings/{id}/verdict', { path: { id }, body: { status } })
export const ballReadings = (ball: number) => call('get', '/api/balls/{id}/readings', { path: { id: ball } })
/** A session's readings, what looks wrong first. */
export const sessionReadings = (session: number) => call('get', '/api/sessions/{id}/readings', { path: { id: session } })
/** What is usual for a player, and whether it changed. */
export const playerMeasures = (player: number) => call('get', '/api/players/{id}/measures', { path: { id: player } })
export const setYardsticks = (player: number, body: Yardsticks) => call('put', '/api/players/{id}/yardsticks', { path: { id: player }, body })
