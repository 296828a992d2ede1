/** A plan being made: what is changed goes to the server by itself, which draws the sequences and says what is amiss. */
import { ApiError } from '../api/error'
import * as api from '../api/plans'
import type { Plan, PlanInput } from '../api/types'
import { type Block, full } from './plan-build'

const PAUSE = 600
const RETRY = 5_000

export type PlanSaving = 'saved' | 'waiting' | 'saving' | 'failed'

export class PlanDesk {
  plan = $state.raw<Plan | null>(null)
  blocks = $state.raw<readonly Block[]>([])
  problem = $state.raw<unknown>(null)
  saving = $state<PlanSaving>('saved')
  /** Why the last save came to nothing; what was written is still on the page. */
  unsaved = $state.raw<unknown>(null)
  #timer: ReturnType<typeof setTimeout> | undefined
  #again = false
  #going: Promise<void> | null = null

  constructor(readonly id: number) {}

  async load(): Promise<void> {
    if (this.saving !== 'saved') return // what is being written wins
    try {
      const p = await api.plan(this.id)
      if (this.saving !== 'saved') return
      this.#take(p)
      this.problem = null
    } catch (err) {
      if (!this.plan) this.problem = err
    }
  }

  #take(p: Plan): void {
    this.plan = p
    this.blocks = p.blocks.map(full)
  }

  /** What is wrong with a field of the last save. */
  wrong(field: string): string {
    return this.unsaved instanceof ApiError ? (this.unsaved.fields[field] ?? '') : ''
  }

  change(part: Partial<Pick<Plan, 'title' | 'player_id' | 'minutes' | 'work_on' | 'note' | 'helmets'>>): void {
    if (!this.plan) return
    this.plan = { ...this.plan, ...part }
    this.#soon()
  }

  set(blocks: readonly Block[]): void {
    this.blocks = blocks
    this.#soon()
  }

  setBlock(at: number, part: Partial<Block>): void {
    this.set(this.blocks.map((b, i) => (i === at ? { ...b, ...part } : b)))
  }

  #soon(): void {
    clearTimeout(this.#timer)
    if (this.saving === 'saving') this.#again = true
    else this.saving = 'waiting'
    this.#timer = setTimeout(() => void this.save(), PAUSE)
  }

  get input(): PlanInput {
    const p = this.plan!
    return {
      title: p.title, player_id: p.player_id, minutes: p.minutes, work_on: p.work_on, note: p.note, helmets: p.helmets, revision: p.revision,
      blocks: [...this.blocks],
    }
  }

  /** Saves at once what is waiting, and ends when that is done or has failed. `leaving`: the page is going away. */
  save(leaving = false): Promise<void> {
    clearTimeout(this.#timer)
    if (leaving) return this.#send(true)
    this.#going ??= this.#send(false).finally(() => (this.#going = null))
    return this.#going
  }

  async #send(leaving: boolean): Promise<void> {
    while (this.plan && (this.saving === 'waiting' || this.saving === 'failed')) {
      this.saving = 'saving'
      this.#again = false
      try {
        const saved = await api.changePlan(this.id, this.input, leaving)
        this.unsaved = null
        if (this.#again) {
          this.plan = { ...this.plan, revision: saved.revision }
          this.saving = 'waiting'
        } else {
          this.#take(saved)
          this.saving = 'saved'
        }
      } catch (err) {
        this.saving = 'failed'
        this.unsaved = err
        if (this.#again || (err instanceof ApiError && err.passing)) this.#timer = setTimeout(() => void this.save(), this.#again ? PAUSE : RETRY)
        return
      }
    }
  }

  /** Gives up what could not be saved and shows what the server has. */
  async takeTheirs(): Promise<void> {
    clearTimeout(this.#timer)
    this.saving = 'saved'
    this.unsaved = null
    await this.load()
  }
}
