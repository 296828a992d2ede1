/**
 * A second look being taken: the balls of a sample one after the other, and what is seen on them this time. What was
 * said the first time is never here. Each press is kept at once; what could not be kept waits and is sent again.
 */
import * as api from '../api/secondlooks'
import type { Codes, Group, SecondLook, Vocabulary } from '../api/types'

export class Look {
  readonly id: number
  look = $state.raw<SecondLook | null>(null)
  groups = $state.raw<Group[]>([])
  at = $state(0)
  /** Index into groups: the one whose terms are shown. */
  open = $state(0)
  /** What could not be kept, and why. */
  error = $state.raw<unknown>(null)
  #seen = $state.raw<Record<number, Codes>>({})
  #done = $state.raw<ReadonlySet<number>>(new Set())
  #unsaved = new Set<number>()
  #sending: Promise<void> = Promise.resolve()

  constructor(id: number) {
    this.id = id
  }

  take(look: SecondLook, words: Vocabulary): void {
    this.look = look
    this.groups = words.groups
      .filter((g) => look.groups.includes(g.key))
      .map((g) => ({ ...g, terms: g.terms.filter((t) => !t.retired) }))
    this.#seen = Object.fromEntries(look.balls.map((b) => [b.ball.id, b.seen]))
    this.#done = new Set(look.balls.filter((b) => b.done).map((b) => b.ball.id))
    this.go(Math.max(0, look.balls.findIndex((b) => !b.done)))
  }

  get ball() {
    return this.look?.balls[this.at]?.ball ?? null
  }
  get next() {
    return this.look?.balls[this.at + 1]?.ball ?? null
  }
  get count(): number {
    return this.look?.balls.length ?? 0
  }
  get done(): number {
    return this.#done.size
  }
  get group(): Group | null {
    return this.groups[this.open] ?? null
  }

  isDone(ball: number): boolean {
    return this.#done.has(ball)
  }
  terms(group: string): string[] {
    return (this.ball && this.#seen[this.ball.id]?.[group]) ?? []
  }

  go(at: number): void {
    this.at = Math.min(Math.max(at, 0), Math.max(this.count - 1, 0))
    this.open = Math.max(0, this.groups.findIndex((g) => this.terms(g.key).length === 0))
  }

  /** Says a term, or takes it back. Of a group of which one holds it replaces the other, and the next group opens. */
  press(term: string): void {
    const { ball, group } = this
    if (!ball || !group) return
    const had = this.terms(group.key)
    const off = had.includes(term)
    const now = off ? had.filter((t) => t !== term) : group.many ? [...had, term] : [term]
    this.#seen = { ...this.#seen, [ball.id]: { ...this.#seen[ball.id], [group.key]: now } }
    void this.#keep(ball.id)
    if (!off && !group.many && this.open < this.groups.length - 1) this.open++
  }

  /** The ball has been looked at, whatever was seen on it. */
  async onward(): Promise<void> {
    const { ball } = this
    if (!ball) return
    if (!this.#done.has(ball.id)) void this.#keep(ball.id)
    if (this.at < this.count - 1) this.go(this.at + 1)
    await this.#sending
  }

  async finish(): Promise<void> {
    await this.#flush()
    if (this.#unsaved.size > 0) throw this.error
    await api.finishSecondLook(this.id)
  }

  /** Tries again what could not be kept. */
  async again(): Promise<void> {
    this.error = null
    await this.#flush()
  }

  /** The page goes away: what is not kept yet goes with it. */
  leave(): void {
    for (const ball of this.#unsaved) void api.saveLookBall(this.id, ball, this.#seen[ball] ?? {}, true).catch(() => {})
  }

  #keep(ball: number): Promise<void> {
    this.#unsaved.add(ball)
    this.#done = new Set([...this.#done, ball])
    return this.#flush()
  }

  /** One save after the other, so that the last word is the last to arrive. */
  #flush(): Promise<void> {
    this.#sending = this.#sending.then(async () => {
      for (const ball of [...this.#unsaved]) {
        const seen = this.#seen[ball]
        try {
          await api.saveLookBall(this.id, ball, seen ?? {})
          if (this.#seen[ball] === seen) this.#unsaved.delete(ball) // else more was said meanwhile: its save follows
          if (this.#unsaved.size === 0) this.error = null
        } catch (err) {
          this.error = err
          return
        }
      }
    })
    return this.#sending
  }
}
