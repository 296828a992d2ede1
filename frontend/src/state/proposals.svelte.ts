/**
 * What is likely to hold on a session's balls and nobody has said yet, and what was pressed about them at the net. They
 * round the coding page off: without them it says all it has to.
 */
import * as api from '../api/plans'
import type { NetMark, Proposal } from '../api/types'
import type { Coding } from './coding.svelte'
import type { Change } from './events.svelte'
import { coalesce } from './refetch'

/** What is asked of the server. Tests hand in their own. */
export interface ProposalSource {
  proposals(session: number): Promise<Proposal[]>
  net(session: number): Promise<{ marks: NetMark[] }>
}

export class Proposals {
  #list = $state.raw<readonly Proposal[]>([])
  #marks = $state.raw<readonly NetMark[]>([])
  #coding: Coding

  /** Fetches both; asked again meanwhile, once more. */
  readonly load: () => Promise<void>

  constructor(coding: Coding, source: ProposalSource = api) {
    this.#coding = coding
    const id = coding.balls.id
    this.load = coalesce(async () => {
      this.#list = await source.proposals(id).catch(() => this.#list)
      this.#marks = (await source.net(id).catch(() => null))?.marks ?? this.#marks
    })
  }

  changed(c: Change): void {
    if (c.session === undefined || c.session === this.#coding.balls.id) void this.load()
  }

  /** What is proposed of the ball at hand, leaving out what was said of it since. */
  get now(): Proposal[] {
    const said = this.#coding.seen.filter((o) => o.kind === 'term')
    return this.#list.filter(
      (p) => p.ball_id === this.#coding.ballId && !said.some((o) => o.group === p.group && (o.term === p.term || p.from === 'plan')),
    )
  }

  /** What was pressed of the ball at hand. */
  get marks(): NetMark[] {
    return this.#marks.filter((m) => m.ball_id === this.#coding.ballId)
  }

  /** Says one of them, or all. */
  accept(which: readonly Proposal[] = this.now): void {
    this.#coding.accept(which)
  }
}
