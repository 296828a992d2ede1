import { call } from './client'
import type { Rule } from './types'

/** A session in numbers: of one player (0: all), as one coder saw it (0: everybody together; undefined: who coded most). */
export const lookback = (id: number, player: number, coder: number | undefined) =>
  call('get', '/api/sessions/{id}/lookback', { path: { id }, query: { player, coder } })

/** Two questions held against each other; names are how the sides are called in a sentence. */
export function compare(left: string, right: string, names: readonly [string, string], outcomes: readonly string[], signal?: AbortSignal) {
  const query = new URLSearchParams({ left, right, left_name: names[0], right_name: names[1] })
  for (const o of outcomes) query.append('outcome', o)
  return call('get', '/api/compare', { query, signal })
}

export const progress = (player: number, outcome: string) =>
  call('get', '/api/players/{id}/progress', { path: { id: player }, query: { outcome: outcome || undefined } })

export const rules = (player: number) => call('get', '/api/players/{id}/rules', { path: { id: player } })
export const saveRules = (player: number, rules: Rule[], revision: number) =>
  call('put', '/api/players/{id}/rules', { path: { id: player }, body: { rules, revision } })

/** What was said of how balls and blocks felt, and the words to say it in. */
export function felt(balls: readonly number[], blocks: readonly number[]) {
  const query = new URLSearchParams()
  for (const b of balls) query.append('ball', String(b))
  for (const b of blocks) query.append('block', String(b))
  return call('get', '/api/felt', { query })
}

export const sayFelt = (of: { ball_id: number } | { block_id: number }, words: string[]) =>
  call('post', '/api/felt', { body: { uuid: crypto.randomUUID(), ...of, words } })
