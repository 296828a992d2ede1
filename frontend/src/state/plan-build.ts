/** A plan's blocks on the page: made from what there is to work on, counted and named. Pure. */
import type { PlanBlock, PlanType, Vocabulary } from '../api/types'

export type BallType = Required<PlanType>
export type Block = Required<Omit<PlanBlock, 'types' | 'sequence'>> & { types: BallType[]; sequence: number[] }
export type Order = PlanBlock['order']

export const ORDERS: { order: Order; name: string; hint: string }[] = [
  { order: 'random', name: 'At random, within limits', hint: 'Every order within the limits is as likely as any other.' },
  { order: 'blocked', name: 'All of one, then all of the next', hint: 'The batter knows what comes.' },
  { order: 'serial', name: 'In turn', hint: 'Always the same way round.' },
  { order: 'rounds', name: 'In rounds', hint: 'Each type once a round; each round in another order.' },
  { order: 'pairs', name: 'At random, pairs balanced', hint: 'Each type comes after each other one equally often.' },
]

/** Limits that the server has too. */
export const MAX_TYPES = 6
export const MAX_BALLS = 60
export const MAX_ALIKE = 5

/** Balls of the second block: about as many as are faced with care at a stretch. Common practice, no source. */
const MOST_MIXED = 36

/** Seconds from ball to ball: a throw-down and the walk back. Common practice, no source; the coach changes it. */
const PACE = 20

export function block(part: Partial<Block> = {}): Block {
  return {
    name: 'Block', player_id: 0, bowling: '', feed: 'throw-down', bat: '', feeder: '', speed_kph: 0, pace_s: PACE, pause_s: 60,
    types: [], order: 'random', alike: 2, seed: 0, sequence: [], ...part,
  }
}

/** A block as the server tells it, with nothing left out. */
export function full(b: PlanBlock): Block {
  const types = b.types.map((t) => ({ name: t.name, balls: t.balls, length: t.length ?? '', line: t.line ?? '', height: t.height ?? '' }))
  return { ...block({ feed: '', pause_s: 0, alike: 0 }), ...b, types, sequence: b.sequence ?? [] } as Block
}

export const balls = (b: Pick<Block, 'types'>) => b.types.reduce((n, t) => n + (t.balls || 0), 0)
/** Seconds of a block, its pause left out. */
export const playing = (b: Block) => balls(b) * b.pace_s

/** Seconds of all blocks, with the pauses between them. */
export function total(blocks: readonly Block[]): number {
  return blocks.reduce((n, b, i) => n + playing(b) + (i < blocks.length - 1 ? b.pause_s : 0), 0)
}

/** The length at which a shot is usually practised. Common practice, no source. */
const lengthOf: Record<string, string> = {
  'forward-defence': 'good', 'back-defence': 'back-of-length', drive: 'full', 'back-foot-drive': 'back-of-length', cut: 'back-of-length',
  pull: 'short', hook: 'short', sweep: 'good', 'reverse-sweep': 'good', glance: 'good', flick: 'full', loft: 'full', leave: 'good', evade: 'short',
}

export function termName(words: Vocabulary | null, group: string, key: string): string {
  return words?.groups.find((g) => g.key === group)?.terms.find((t) => t.key === key)?.name ?? key
}

/** A type of ball for a term of length or height. */
export function typeFor(words: Vocabulary | null, group: 'length' | 'height', key: string, n: number): BallType {
  const name = termName(words, group, key)
  return { name: group === 'height' ? `At the ${name.toLowerCase()}` : name, length: '', line: '', height: '', [group]: key, balls: n }
}

/**
 * Blocks for a session of so many minutes on some terms ('shot=pull'): a block to settle in, then one at random with
 * what is unlike it. Where no term names a ball, full, good and short.
 */
export function buildBlocks(workOn: readonly string[], minutes: number, words: Vocabulary | null): Block[] {
  const wanted: ['length' | 'height', string][] = []
  const want = (group: 'length' | 'height', key: string | undefined) => {
    if (key && !wanted.some(([g, k]) => g === group && k === key)) wanted.push([group, key])
  }
  for (const code of workOn) {
    const [group = '', term = ''] = code.split('=')
    if (group === 'length' || group === 'height') want(group, term)
    if (group === 'shot') want('length', lengthOf[term])
  }
  const targets = wanted.slice(0, MAX_TYPES - 1)
  for (const unlike of ['full', 'good', 'short']) {
    if (targets.length < 2 || (wanted.length === 0 && targets.length < 3)) {
      if (!targets.some(([g, k]) => g === 'length' && k === unlike)) targets.push(['length', unlike])
    }
  }
  const all = Math.max(6, Math.floor((minutes * 60 * 0.9 - 60) / PACE))
  const first = Math.min(12, Math.max(2, Math.floor(all / 4)))
  const rest = Math.min(MOST_MIXED, all - first)
  const each = Math.max(1, Math.floor(rest / targets.length))
  const [main] = targets
  return [
    block({ name: 'Settle in', order: 'blocked', alike: 0, types: [typeFor(words, main![0], main![1], first)] }),
    block({ name: 'Mixed', pause_s: 0, types: targets.map(([g, k]) => typeFor(words, g, k, each)) }),
  ]
}

/** Whole balls by shares that come to 1, by largest remainder. */
export function shareOut(n: number, shares: readonly number[]): number[] {
  const out = shares.map((s) => Math.floor(n * s + 1e-9))
  const by = shares.map((s, i) => [n * s - out[i]!, i] as const).sort((a, b) => b[0] - a[0] || a[1] - b[1])
  for (let left = n - out.reduce((a, b) => a + b, 0), i = 0; left > 0; left--, i++) out[by[i % by.length]![1]]!++
  return out
}

/** Whether a type is aimed at the upper body, as the server has it. */
export const upperBody = (t: BallType) => t.balls > 0 && (t.length === 'short' || ['throat', 'head', 'above-head'].includes(t.height))
