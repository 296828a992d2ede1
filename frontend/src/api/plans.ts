import { call } from './client'
import type { LoadLimit, NetBatch, PlanBecomes, PlanBlock, PlanInput, Zero } from './types'

export const plans = () => call('get', '/api/plans')
export const plan = (id: number) => call('get', '/api/plans/{id}', { path: { id } })
export const addPlan = (body: PlanInput) => call('post', '/api/plans', { body })
/** `leaving`: the page is going away; the browser sends it all the same. */
export const changePlan = (id: number, body: PlanInput, leaving = false) =>
  call('put', '/api/plans/{id}', { path: { id }, body, keepalive: leaving })
export const deletePlan = (id: number) => call('delete', '/api/plans/{id}', { path: { id } })
/** Draws a block's sequence; nothing is kept. */
export const drawBlock = (body: PlanBlock) => call('post', '/api/plans/draw', { body })
export const planBecomes = (id: number, body: PlanBecomes) => call('post', '/api/plans/{id}/session', { path: { id }, body })
/** How a player's balls of a group's terms went, and how to weigh them. */
export const cells = (player: number, group: string, terms: readonly string[]) =>
  call('get', '/api/players/{id}/cells', {
    path: { id: player },
    query: new URLSearchParams([['group', group], ...terms.map((t): [string, string] => ['term', t])]),
  })
/** Terms that are likely to hold on a session's balls, until a person says so. */
export const proposals = (session: number) => call('get', '/api/sessions/{id}/proposals', { path: { id: session } })

export interface LoadQuery {
  /** '' both: the latest four weeks that hold any ball. */
  from: string
  to: string
  doing: 'facing' | 'feeding'
  /** null: everybody. */
  person: string | null
}
const asked = (q: LoadQuery) => ({ from: q.from || undefined, to: q.to || undefined, doing: q.doing, person: q.person ?? undefined })
export const load = (q: LoadQuery) => call('get', '/api/load', { query: asked(q) })
export const loadTableUrl = (q: LoadQuery) =>
  `/api/load.csv?${new URLSearchParams(Object.entries(asked(q)).filter((e): e is [string, string] => e[1] !== undefined))}`
export const setLimits = (body: LoadLimit[]) => call('put', '/api/load/limits', { body })

export const serverClock = () => call('get', '/api/clock')
export const takeMarks = (body: NetBatch) => call('post', '/api/net', { body })
export const net = (session: number) => call('get', '/api/sessions/{id}/net', { path: { id: session } })
export const setZero = (session: number, body: Zero) => call('put', '/api/sessions/{id}/net-clock', { path: { id: session }, body })
export const netBlocks = (session: number) => call('post', '/api/sessions/{id}/net-blocks', { path: { id: session } })
/** The sharp sounds of a stretch of a session's clock, µs. */
export const bangs = (session: number, from: number, until: number) =>
  call('get', '/api/sessions/{id}/bangs', { path: { id: session }, query: { from_us: Math.round(from), until_us: Math.round(until) } })
