/** A plan being made: what is changed goes to the server by itself, which draws the sequences and says what is amiss. */
import * as api from '../api/plans'
import type { Plan, PlanInput } from '../api/types'
import { Autosave } from './autosave.svelte'
import { type Block, full } from './plan-build'

export class PlanDesk {
  plan = $state.raw<Plan | null>(null)
  blocks = $state.raw<readonly Block[]>([])
  problem = $state.raw<unknown>(null)
  /** Nothing is fetched over what is not saved yet. */
  readonly saver: Autosave = new Autosave({
    ready: () => this.plan !== null,
    send: async (leaving, last) => {
      const saved = await api.changePlan(this.id, this.input, leaving)
      if (last()) this.#take(saved)
      else this.plan = { ...this.plan!, revision: saved.revision }
    },
  })

  constructor(readonly id: number) {}

  async load(): Promise<void> {
    if (this.saver.saving !== 'saved') return // what is being written wins
    try {
      const p = await api.plan(this.id)
      if (this.saver.saving !== 'saved') return
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

  change(part: Partial<Pick<Plan, 'title' | 'player_id' | 'minutes' | 'work_on' | 'note' | 'helmets'>>): void {
    if (!this.plan) return
    this.plan = { ...this.plan, ...part }
    this.saver.soon()
  }

  set(blocks: readonly Block[]): void {
    this.blocks = blocks
    this.saver.soon()
  }

  setBlock(at: number, part: Partial<Block>): void {
    this.set(this.blocks.map((b, i) => (i === at ? { ...b, ...part } : b)))
  }

  get input(): PlanInput {
    const p = this.plan!
    return {
      title: p.title, player_id: p.player_id, minutes: p.minutes, work_on: p.work_on, note: p.note, helmets: p.helmets, revision: p.revision,
      blocks: [...this.blocks],
    }
  }

  /** Gives up what could not be saved and shows what the server has. */
  async takeTheirs(): Promise<void> {
    this.saver.giveUp()
    await this.load()
  }
}
