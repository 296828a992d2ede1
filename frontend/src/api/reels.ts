import { call } from './client'
import type { ReelInput } from './types'

export const reels = () => call('get', '/api/reels')
export const reel = (id: number) => call('get', '/api/reels/{id}', { path: { id } })
export const addReel = (body: ReelInput) => call('post', '/api/reels', { body })
/** `leaving`: the page is going away; the browser sends it all the same. */
export const changeReel = (id: number, body: ReelInput, leaving = false) =>
  call('put', '/api/reels/{id}', { path: { id }, body, keepalive: leaving })
export const deleteReel = (id: number) => call('delete', '/api/reels/{id}', { path: { id } })
export const playlist = (id: number) => call('get', '/api/reels/{id}/playlist', { path: { id } })
/** The reel of a share link; needs no account. */
export const shared = (secret: string) => call('get', '/api/shared/{secret}', { path: { secret } })

export const shares = (reel: number) => call('get', '/api/reels/{id}/shares', { path: { id: reel } })
/** Makes a link that holds for so many days (at most 90); the answer has its address, once. */
export const addShare = (reel: number, days: number) =>
  call('post', '/api/reels/{id}/shares', { path: { id: reel }, body: { days } })
export const revokeShare = (id: number) => call('delete', '/api/shares/{id}', { path: { id } })

export const exports = (reel: number) => call('get', '/api/reels/{id}/exports', { path: { id: reel } })
export const addExport = (reel: number, burn: boolean) =>
  call('post', '/api/reels/{id}/exports', { path: { id: reel }, body: { burn } })
export const cancelExport = (id: number) => call('post', '/api/exports/{id}/cancel', { path: { id } })

export const captionsUrl = (reel: number) => `/api/reels/${reel}/captions.vtt`
export const tableUrl = (reel: number) => `/api/reels/${reel}/balls.csv`
export const filmUrl = (id: number) => `/api/exports/${id}/film`
export const filmCaptionsUrl = (id: number) => `/api/exports/${id}/captions.vtt`
