/** Which points of a body are put on a frame, and how a model's body becomes such points. Pure. */
import type { Measures, Point, Sight } from '../api/types'
import { pointOf, type Body, type LandmarkName } from '../pose/landmarks'
import type { Placed, Wanted } from './point-board.svelte'

/** Points that are put on together. Feet always are: most measures stand on them. */
export const SETS = {
  feet: ['front-heel', 'back-heel', 'front-toe', 'back-toe'],
  head: ['head'],
  legs: ['front-hip', 'front-knee', 'front-ankle', 'back-hip', 'back-knee', 'back-ankle'],
  trunk: ['front-shoulder', 'back-shoulder', 'front-hip', 'back-hip'],
  bat: ['bat-handle', 'bat-toe'],
  ball: ['ball', 'ball-bounce'],
} as const
export type SetName = keyof typeof SETS
export const setNames: Record<SetName, string> = { feet: 'Feet', head: 'Head', legs: 'Knees', trunk: 'Trunk', bat: 'Bat', ball: 'Ball' }

const always = new Set<string>(['front-heel', 'back-heel'])

/** What is asked for on a frame, in order: both heels, then what the chosen sets want, each once. */
export function wantedParts(known: Measures | null, sets: ReadonlySet<SetName>): Wanted[] {
  const keys = new Set(Object.entries(SETS).flatMap(([name, parts]) => (name === 'feet' || sets.has(name as SetName) ? parts : [])))
  return [...keys].flatMap((key) => {
    const part = known?.parts.find((p) => p.key === key)
    return part ? [{ key, name: part.name, hint: part.click, optional: !always.has(key) }] : []
  })
}

const pairs = ['heel', 'toe', 'ankle', 'knee', 'hip', 'shoulder', 'wrist'] as const

/** A model's body as parts: front is what is nearer the bowler, the left side of a right-hander. */
export function partsOf(body: Body, bats: 'right' | 'left'): NonNullable<Sight['proposed']> {
  const front = bats === 'left' ? 'right' : 'left'
  const back = bats === 'left' ? 'left' : 'right'
  const out: NonNullable<Sight['proposed']> = {}
  const put = (key: string, names: LandmarkName[]) => {
    const of = names.map((n) => body[n])
    const mean = (pick: (l: Body[LandmarkName]) => number) => of.reduce((sum, l) => sum + pick(l), 0) / of.length
    const p = pointOf({ x: mean((l) => l.x), y: mean((l) => l.y), seen: 1 })
    out[key] = { ...p, seen: Math.min(...of.map((l) => Math.min(1, Math.max(0, l.seen)))) }
  }
  for (const part of pairs) {
    put(`front-${part}`, [`${front}-${part}`])
    put(`back-${part}`, [`${back}-${part}`])
  }
  // The middle of the head at the height of the eyes.
  put('head', ['left-eye', 'right-eye', 'left-ear', 'right-ear'])
  return out
}

/** Bones between the points that are there, for drawing. */
export function bones(placed: Placed): { key: string; points: Point[] }[] {
  const chains = (['front', 'back'] as const).flatMap((side) => [
    [`${side}-shoulder`, `${side}-hip`, `${side}-knee`, `${side}-ankle`],
    [`${side}-heel`, `${side}-toe`],
  ])
  return [...chains, ['back-heel', 'front-heel'], ['bat-handle', 'bat-toe']].flatMap((chain) =>
    chain.slice(1).flatMap((to, i) => {
      const [a, b] = [placed[chain[i]!], placed[to]]
      return a && b ? [{ key: `${chain[i]} ${to}`, points: [a, b] }] : []
    }),
  )
}

/** Only what is wanted, of points by name. */
export function only<T>(points: Readonly<Record<string, T>>, wanted: readonly Wanted[]): Record<string, T> {
  const keys = new Set(wanted.map((w) => w.key))
  return Object.fromEntries(Object.entries(points).filter(([key]) => keys.has(key)))
}
