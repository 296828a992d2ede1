import { call } from './client'
import type { Block, LaneEdit, SessionInput } from './types'

export const sessions = () => call('get', '/api/sessions')
export const session = (id: number) => call('get', '/api/sessions/{id}', { path: { id } })
export const addSession = (body: SessionInput) => call('post', '/api/sessions', { body })
export const changeSession = (id: number, body: SessionInput) => call('put', '/api/sessions/{id}', { path: { id }, body })
export const deleteSession = (id: number) => call('delete', '/api/sessions/{id}', { path: { id } })

export const setBlocks = (id: number, body: Block[]) => call('put', '/api/sessions/{id}/blocks', { path: { id }, body })
export const lane = (id: number) => call('get', '/api/sessions/{id}/lane', { path: { id } })
export const editLane = (id: number, body: LaneEdit) => call('post', '/api/sessions/{id}/lane-edits', { path: { id }, body })
/** From which confidence balls are proposed; null is what the splits propose. */
export const setCut = (id: number, cut: number | null) => call('put', '/api/sessions/{id}/cut', { path: { id }, body: { cut } })

type Taken = 'balls.csv' | 'captions.vtt' | 'annotations.jsonld' | 'archive.zip'
/** Where a part of a session, or all of it, is saved from. */
export function exportUrl(id: number, file: Taken, choice: Partial<Record<'names' | 'clips', boolean>>): string {
  const query = Object.entries(choice).flatMap(([key, yes]) => (yes ? [`${key}=true`] : []))
  return `/api/sessions/${id}/export/${file}${query.length > 0 ? `?${query.join('&')}` : ''}`
}
