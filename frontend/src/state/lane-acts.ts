/** What the keys and the buttons of the lane do to the ball in hand. */
import type { BallEdit, LaneBall } from '../api/types'
import * as edits from './lane-edits'
import type { LaneDesk } from './lane.svelte'
import { toasts } from './toasts.svelte'

export class LaneActs {
  constructor(private readonly desk: LaneDesk) {}

  /** Changes the ball in hand as it is when the change's turn comes; says so when there is nothing in hand. */
  #change(make: (b: LaneBall, all: readonly LaneBall[]) => BallEdit[], choose = false): void {
    const id = this.desk.selectedId
    if (id === null) {
      toasts.say('Choose a ball first.')
      return
    }
    this.desk.change((all) => {
      const b = all.find((x) => x.id === id)
      return b ? make(b, all) : []
    }, choose)
  }

  add(): void {
    const at = this.desk.playhead
    this.desk.change(() => edits.add(at), true)
  }

  /** Accepts, and goes on to the next ball that wants a look. */
  accept(): void {
    this.#change((b) => edits.setState([b], 'accepted'))
    this.#goOn()
  }

  /** The ball in hand has been looked at. */
  #goOn(): void {
    const { selected, balls } = this.desk
    if (selected && balls.some((b) => b.id !== selected.id && edits.unsure(b))) this.desk.nextUnsure()
  }

  acceptAll(): void {
    this.desk.change((all) => edits.setState(all.filter((b) => b.state === 'proposed'), 'accepted'))
  }

  /** Discards, and goes on where the split was unsure; a ball that was discarded is restored. */
  discard(): void {
    const wasUnsure = this.desk.selected !== undefined && edits.unsure(this.desk.selected)
    this.#change((b) => edits.setState([b], b.state === 'discarded' ? 'accepted' : 'discarded'))
    if (wasUnsure) this.#goOn()
  }

  contact(): void {
    const at = this.desk.playhead
    this.#change((b) => edits.setContact(b, b.contact_us !== null && Math.abs(b.contact_us - at) < 10_000 ? null : at))
  }

  nudge(edge: 'start' | 'end', by: number): void {
    this.#change((b) => edits.moveEdge(b, edge, (edge === 'start' ? b.start_us : b.end_us) + by))
  }

  split(): void {
    const at = this.desk.playhead
    const b = this.desk.selected
    if (b && edits.split(b, at).length === 0) toasts.say('Put the playhead well inside the ball, then split it there.')
    else this.#change((x) => edits.split(x, at), true)
  }

  merge(): void {
    this.#change((b, all) => {
      const next = all.find((x) => x.state !== 'discarded' && x.start_us > b.start_us && x.id !== b.id)
      return next ? edits.merge(b, next) : []
    })
  }

  batter(id: number | null): void {
    this.#change((b) => edits.setBatter(b, id))
  }
}
