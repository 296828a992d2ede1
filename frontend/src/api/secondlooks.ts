import { call } from './client'
import type { Codes, SecondLookInput } from './types'

export const secondLooks = (session: number) => call('get', '/api/sessions/{id}/second-looks', { path: { id: session } })
export const addSecondLook = (session: number, body: SecondLookInput) =>
  call('post', '/api/sessions/{id}/second-looks', { path: { id: session }, body })
export const secondLook = (id: number) => call('get', '/api/second-looks/{id}', { path: { id } })
export const dropSecondLook = (id: number) => call('delete', '/api/second-looks/{id}', { path: { id } })
/** `leaving`: the page is going away; the browser sends it all the same. */
export const saveLookBall = (id: number, ball: number, seen: Codes, leaving = false) =>
  call('post', '/api/second-looks/{id}/balls', { path: { id }, body: { ball_id: ball, seen }, keepalive: leaving })
export const finishSecondLook = (id: number) => call('post', '/api/second-looks/{id}/finish', { path: { id } })
/** Of one finished second look; of all of the squad's without an id. */
export const agreement = (id?: number) =>
  id === undefined ? call('get', '/api/agreement') : call('get', '/api/second-looks/{id}/agreement', { path: { id } })
export const setTrustFloor = (floor: number) => call('put', '/api/agreement', { body: { floor } })
