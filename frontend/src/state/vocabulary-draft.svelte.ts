/** The vocabulary while it is being edited. No DOM, no fetching: a draft of the next edition. */
import type { Group, Term, Vocabulary } from '../api/types'
import { moved } from '../ui/reorder'
import { rebase } from './vocabulary-merge'

export class Draft {
  /** The edition that the draft was made from. */
  #base = $state.raw<Vocabulary>({ number: 0, groups: [] })
  groups = $state<Group[]>([])
  /** What the server found wrong, by place ("groups.2.terms.0.name"). Any change of order clears it. */
  problems = $state.raw<Readonly<Record<string, string>>>({})

  constructor(from: Vocabulary) {
    this.reset(from)
  }

  /** Begins again from an edition. */
  reset(from: Vocabulary): void {
    this.#base = from
    this.groups = structuredClone(from.groups)
    this.problems = {}
  }

  get number(): number {
    return this.#base.number
  }

  readonly touched = $derived(JSON.stringify(this.groups) !== JSON.stringify(this.#base.groups))

  /** What to save. */
  get edition(): Vocabulary {
    return { number: this.#base.number, groups: $state.snapshot(this.groups) }
  }

  /** Puts the draft's changes over an edition that somebody else has saved meanwhile. */
  rebase(theirs: Vocabulary): void {
    const groups = rebase(this.#base, this.edition, theirs).groups
    this.#base = theirs
    this.groups = groups
    this.problems = {}
  }

  /** Whether a group, or a term of it, is only in the draft and may still be taken out for good. */
  isNew(group: string, term?: string): boolean {
    const g = this.#base.groups.find((g) => g.key === group)
    return term === undefined ? !g : !g?.terms.some((t) => t.key === term)
  }

  group(key: string): Group | undefined {
    return this.groups.find((g) => g.key === key)
  }

  addGroup(name: string): Group {
    const key = keyOf(name, (k) => this.groups.some((g) => g.key === k))
    const press = freeKey(LETTERS, this.groups, name)
    this.groups.push({ key, name: name.trim(), press, many: false, ordered: false, retired: false, terms: [] })
    return this.groups.at(-1)!
  }

  addTerm(g: Group, name: string): Term {
    const key = keyOf(name, (k) => g.terms.some((t) => t.key === k))
    g.terms.push({ key, name: name.trim(), press: freeKey(TERM_KEYS, g.terms, ''), retired: false })
    return g.terms.at(-1)!
  }

  /** Takes out what is only in the draft; retires what has been saved. */
  remove(g: Group, t?: Term): void {
    this.problems = {}
    if (t) {
      if (this.isNew(g.key, t.key)) g.terms = g.terms.filter((x) => x !== t)
      else t.retired = true
    } else if (this.isNew(g.key)) {
      this.groups = this.groups.filter((x) => x !== g)
    } else {
      g.retired = true
    }
  }

  /** Brings a retired group or term back; its key is given up if another has taken it. */
  restore(x: Group | Term, among: readonly (Group | Term)[]): void {
    if (among.some((y) => y !== x && !y.retired && y.press === x.press)) x.press = ''
    x.retired = false
  }

  /** Moves among those in use: `from` and `to` count without the retired ones. */
  moveGroup(from: number, to: number): void {
    this.groups = moveInUse(this.groups, from, to)
    this.problems = {}
  }
  moveTerm(g: Group, from: number, to: number): void {
    g.terms = moveInUse(g.terms, from, to)
    this.problems = {}
  }

  /** What the server found wrong at a place: `problem('name', 'shot', 'pull')`. */
  problem(field: string, group: string, term?: string): string {
    const i = this.groups.findIndex((g) => g.key === group)
    if (term === undefined) return this.problems[`groups.${i}.${field}`] ?? ''
    const j = this.groups[i]?.terms.findIndex((t) => t.key === term) ?? -1
    return this.problems[`groups.${i}.terms.${j}.${field}`] ?? ''
  }

  /** Whether anything is wrong in a group. */
  hasProblem(group: string): boolean {
    const at = `groups.${this.groups.findIndex((g) => g.key === group)}.`
    return Object.keys(this.problems).some((k) => k.startsWith(at))
  }
}

/** Retired entries keep their places in the list, between the same neighbours as far as may be. */
export function moveInUse<T extends { retired: boolean }>(list: readonly T[], from: number, to: number): T[] {
  const places = list.flatMap((x, i) => (x.retired ? [] : [i]))
  const [a, b] = [places[from], places[to]]
  return a === undefined || b === undefined ? [...list] : moved(list, a, b)
}

/** A key from a name that is not yet in use, as the server makes them: "Wide of off" gives "wide-of-off". */
export function keyOf(name: string, taken: (key: string) => boolean): string {
  let base = name.toLowerCase().replace(/[^a-z0-9]+/g, '-').replace(/^-+|-+$/g, '')
  if (!/^[a-z]/.test(base)) base = `term-${base}`.replace(/-$/, '')
  let key = base
  for (let n = 2; taken(key); n++) key = `${base}-${n}`
  return key
}

const LETTERS = 'abcdefghijklmnopqrstuvwxyz'
// The digit row, then the letters under it: as the server gives them to its own terms.
const TERM_KEYS = '1234567890qwertyuiopasdfghjklzxcvbnm'

/** A key that none of the others in use has, a letter of the name if there is one; '' when all are taken. */
function freeKey(keys: string, others: readonly { press: string; retired: boolean }[], name: string): string {
  const taken = new Set(others.filter((o) => !o.retired).map((o) => o.press))
  const free = [...keys].filter((k) => !taken.has(k))
  return [...name.toLowerCase()].find((c) => free.includes(c)) ?? free[0] ?? ''
}
