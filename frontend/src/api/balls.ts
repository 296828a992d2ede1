import { call } from './client'
import type { Entry } from './types'

export const sessionBalls = (session: number) => call('get', '/api/sessions/{id}/balls', { path: { id: session } })
export const ball = (id: number) => call('get', '/api/balls/{id}', { path: { id } })
/** All that was ever said of a ball, oldest first. */
export const ledger = (id: number) => call('get', '/api/balls/{id}/ledger', { path: { id } })
/** Adds entries; sending one again changes nothing. Resolves to what now holds on each ball spoken of. */
export const observe = (entries: Entry[]) => call('post', '/api/observations', { body: entries })
/** Put this clip's smooth version at the head of the queue. */
export const wantClip = (id: number) => call('post', '/api/clips/{id}/want', { path: { id } })

/** The balls a question asks for; `question` is the query of the find page's address. */
export function find(question: URLSearchParams, offset: number, limit: number, signal?: AbortSignal) {
  const query = new URLSearchParams(question)
  query.set('offset', String(offset))
  query.set('limit', String(limit))
  return call('get', '/api/find', { query, signal })
}

/** Two balls, the same one twice if need be, with their measures held against each other. */
export const sideBySide = (left: number, right: number) => call('get', '/api/side-by-side', { query: { left, right } })
