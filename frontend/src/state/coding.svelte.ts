/**
 * The coding page's logic: which ball and which group are open, what pressing a term does, undo, what the page says
 * aloud. No DOM; the clip itself is the Player's.
 */
import type { Ball, Block, Clip, Entry, Group, Observation } from '../api/types'
import { clock } from '../time/time'
import * as deeds from './ledger-acts'
import type { Act, Hand, Wording } from './ledger-acts'
import { Balls } from './coding-balls.svelte'
import { coded, following, given, inOrder, neighbour, offered, opening, walkOf, type Coded, type Walk } from './coding-walk'

/** Where entries go: the ledger queue, or a test's. */
export interface Outlet {
  readonly waiting: readonly { entry: Entry }[]
  add(entries: readonly Entry[]): void
  drop(uuid: string): void
  isRefused(uuid: string): boolean
}
export interface Coder {
  id: number
  name: string
}
/** The first half of a span: the next press of the same term is the second. */
export interface Draft {
  group: string
  term: string
  at: number
}

export class Coding {
  readonly balls: Balls
  ballId = $state(0)
  /** The recording whose angle is shown; 0: any. */
  recordingId = $state(0)
  openKey = $state('')
  draft = $state.raw<Draft | null>(null)
  onlyUncoded = $state(false)
  goOn = $state(false)
  /** What a live region should say. */
  said = $state('')
  /** Why the ball that was asked for is not the one shown. */
  notice = $state('')

  #out: Outlet
  #hand: Hand
  #wording: Wording
  #acts = $state.raw<Act[]>([])
  #start = 0 // of the ball at hand
  #kept = $state.raw<ReadonlySet<number>>(new Set()) // coded while "not coded yet" was on: they stay until that changes

  constructor(balls: Balls, out: Outlet, me: Coder, uuid: () => string = () => crypto.randomUUID()) {
    this.balls = balls
    this.#out = out
    this.#hand = { me: me.id, uuid }
    this.#wording = {
      me: me.id,
      name: me.name,
      many: (group) => this.groups.find((g) => g.key === group)?.many ?? false,
      term: (group, term) => this.nameOf(group, term),
    }
  }

  readonly groups: Group[] = $derived.by(() => (this.balls.vocabulary ? offered(this.balls.vocabulary) : []))
  readonly walk: Walk = $derived.by(() => walkOf(this.groups, this.balls.session?.focus ?? []))
  readonly open: Group | undefined = $derived.by(() => this.groups.find((g) => g.key === this.openKey))
  readonly ball: Ball | undefined = $derived.by(() => this.balls.get(this.ballId))
  readonly seen: Observation[] = $derived.by(() => (this.ball ? this.seenOf(this.ball) : []))
  readonly block: Block | undefined = $derived.by(() => this.blockOf(this.ball))
  readonly given: ReadonlyMap<string, string> = $derived.by(() => given(this.block))
  readonly clip: Clip | undefined = $derived.by(() => this.clipOf(this.ball))
  readonly next: Ball | undefined = $derived.by(() => this.#beside(1))
  readonly previous: Ball | undefined = $derived.by(() => this.#beside(-1))
  readonly canUndo: boolean = $derived.by(() => this.#acts.length > 0)
  readonly codedBy: ReadonlyMap<number, Coded> = $derived.by(
    () => new Map(this.balls.all.map((b) => [b.id, coded(this.walk, this.seenOf(b), given(this.blockOf(b)))])),
  )
  readonly codedCount: number = $derived.by(() => [...this.codedBy.values()].filter((c) => c === 'all').length)
  /** The balls of the strip. */
  readonly listed: readonly Ball[] = $derived.by(() =>
    this.onlyUncoded ? this.balls.all.filter((b) => this.codedBy.get(b.id) !== 'all' || this.#kept.has(b.id)) : this.balls.all,
  )

  /** What holds on a ball, with what is on its way to the server. */
  seenOf(b: Ball): Observation[] {
    const mine = this.#out.waiting.filter((w) => w.entry.ball_id === b.id).map((w) => w.entry)
    if (mine.length === 0) return b.seen
    return deeds.holding(b.seen, mine, this.#wording)
  }

  nameOf(group: string, term: string): string {
    const all = this.balls.vocabulary?.groups ?? []
    return all.find((g) => g.key === group)?.terms.find((t) => t.key === term)?.name ?? term
  }

  /** The terms that I put in a group of this ball. */
  mine(group: string): Observation[] {
    return deeds.myTerms(this.#hand, this.seen, group)
  }

  /** My account. */
  get me(): number {
    return this.#hand.me
  }

  isMine = (o: Observation): boolean => o.coder_id === this.#hand.me

  blockOf(b: Ball | undefined): Block | undefined {
    return this.balls.blocks.find((k) => k.id === b?.block_id)
  }

  /** The clip to show of a ball: the chosen angle, else one that has a file. */
  clipOf(b: Ball | undefined): Clip | undefined {
    const clips = b?.clips ?? []
    return clips.find((c) => c.recording_id === this.recordingId) ?? clips.find((c) => c.file) ?? clips[0]
  }

  /** The clock rate of a clip's recording, parts per million. */
  rateOf(c: Clip | undefined): number {
    return this.balls.recordings.find((r) => r.id === c?.recording_id)?.rate_ppm ?? 0
  }

  /** Opens a ball; without an id, the first that is not coded. */
  show(id?: number): void {
    const all = this.balls.all
    const found = id === undefined ? undefined : this.balls.get(id)
    // The ball at hand was taken off the lane: the one that comes after it is nearest.
    const after = id !== undefined && id === this.ballId ? (all.find((b) => b.start_us >= this.#start) ?? all.at(-1)) : undefined
    const ball = found ?? after ?? all.find((b) => this.codedBy.get(b.id) !== 'all') ?? all[0]
    if (!ball) return
    if (id !== undefined && !found) this.notice = 'That ball is no longer in this session. Here is another.'
    else if (ball.id !== this.ballId) this.notice = ''
    this.#start = ball.start_us
    if (ball.id === this.ballId) return
    if (this.onlyUncoded) this.#kept = new Set([ball.id])
    this.ballId = ball.id
    this.draft = null
    this.openKey = opening(this.walk, this.#done)
  }

  /** The ball before (-1) or after (1) in the strip. */
  move(by: 1 | -1): void {
    const to = by === 1 ? this.next : this.previous
    if (to) {
      this.show(to.id)
      this.said = `Ball ${to.number}`
    } else this.said = by === 1 ? 'This is the last ball' : 'This is the first ball'
  }

  filter(onlyUncoded: boolean): void {
    this.#kept = new Set([this.ballId])
    this.onlyUncoded = onlyUncoded
  }

  openGroup(key: string): void {
    if (!this.groups.some((g) => g.key === key)) return
    this.openKey = key
    this.said = this.open?.name ?? ''
  }

  openBeside(by: 1 | -1): void {
    this.openGroup(neighbour(this.walk, this.openKey, by))
  }

  /** The group whose letter this is. */
  groupFor(press: string): Group | undefined {
    return this.groups.find((g) => g.press === press)
  }

  /** The open group's term whose key this is. */
  termFor(press: string): string | undefined {
    return this.open?.terms.find((t) => t.press === press)?.key
  }

  /** Puts a term of the open group on the ball, or takes it back; times on the session clock. */
  put(term: string, at: number, until: number | null = null): void {
    const group = this.open
    if (!group || !this.ball) return
    if (this.draft?.group === group.key && this.draft.term === term) {
      ;[at, until] = [Math.min(this.draft.at, at), Math.max(this.draft.at, at)]
      this.draft = null
    }
    const act = deeds.term(this.#hand, this.seen, this.ball.id, group, term, { at, until })
    this.do(act)
    const since = this.ball.start_us
    if (act.put.length === 0) {
      this.said = `${act.words} taken back`
      return
    }
    const span = act.entries.at(-1)?.until_us
    this.said = `${act.words} at ${clock(at - since, 1)}${span ? ` to ${clock(span - since, 1)}` : ''}`
    if (this.goOn && this.walk.focus.length > 0 && this.walk.focus.every((g) => this.#done(g.key)) && !group.many && this.next) {
      this.move(1)
      return
    }
    const next = following(this.walk, group.key, this.#done)
    if (next !== group.key) {
      this.openKey = next
      this.said += `. ${this.open?.name}`
    }
  }

  /** Begins a span of a term, or ends the one that has begun. */
  mark(term: string, at: number): void {
    if (!this.open) return
    if (this.draft?.group === this.open.key && this.draft.term === term) {
      this.put(term, at)
      return
    }
    this.draft = { group: this.open.key, term, at }
    this.said = `${this.nameOf(this.open.key, term)} begins. Press it again where it ends.`
  }

  /** Puts a term of any group on the ball, unless I said it already; without a time, on the ball as a whole. */
  imply(group: string, term: string, at: number | null): void {
    const g = this.groups.find((k) => k.key === group)
    if (!g || !this.ball || this.mine(group).some((o) => o.term === term)) return
    const act = deeds.term(this.#hand, this.seen, this.ball.id, g, term, { at })
    this.do(act)
    this.said = `${g.name}: ${act.words}`
  }

  /** Says proposed terms of the ball at hand, each an act of its own; nobody saw when. */
  accept(terms: readonly { group: string; term: string }[]): void {
    for (const p of terms) this.imply(p.group, p.term, null)
    this.said = terms.length > 0 ? `Accepted: ${terms.map((p) => this.nameOf(p.group, p.term)).join(', ')}` : 'Nothing is proposed'
    if (this.openKey && this.#done(this.openKey)) this.openKey = opening(this.walk, this.#done)
  }

  takeBack(o: Observation): void {
    const words = o.kind === 'term' ? o.wording : o.kind === 'note' ? 'a note' : 'a drawing'
    this.do(deeds.takeBack(this.#hand, o.ball_id, words, [o]))
    this.said = `${words} taken back`
  }

  note(ball: number, body: string, at: number | null, corrects?: Observation): void {
    if (body.trim() === '' || body.trim() === corrects?.body) return
    this.do(deeds.note(this.#hand, ball, body, at, corrects))
    this.said = 'Note kept'
  }

  drawing(ball: number, d: NonNullable<Entry['drawing']>, at: number, recording: number, replaces?: Observation): void {
    this.do(deeds.drawing(this.#hand, ball, d, at, recording, replaces))
    this.said = 'Drawing kept'
  }

  do(act: Act): void {
    this.#out.add(act.entries)
    this.#acts = [...this.#acts, act]
  }

  /** Takes back the last thing done on this page, and goes to its ball. */
  undo(): void {
    if (this.draft) {
      this.draft = null
      this.said = 'Span given up'
      return
    }
    const act = this.#acts.at(-1)
    if (!act) {
      this.said = 'Nothing to undo'
      return
    }
    this.show(act.ball)
    // What the server refused, or was taken back elsewhere, needs no undoing.
    const ball = this.balls.get(act.ball)
    const there = new Set((ball ? this.seenOf(ball) : []).map((o) => o.uuid))
    for (const uuid of act.put) if (this.#out.isRefused(uuid)) this.#out.drop(uuid)
    const { entries, again } = deeds.undo(this.#hand, {
      ...act,
      put: act.put.filter((u) => there.has(u)),
      removed: act.removed.filter((o) => !there.has(o.uuid)),
    })
    if (entries.length > 0) this.#out.add(entries)
    this.#acts = deeds.renamed(this.#acts.slice(0, -1), again)
    const group = act.entries.find((e) => e.kind === 'term')?.group ?? act.removed[0]?.group
    if (group) this.openKey = group
    this.said = `Undone: ${act.words}, ball ${ball?.number ?? ''}`
  }

  /** All groups in the order in which Tab goes through them. */
  get order(): Group[] {
    return inOrder(this.walk)
  }

  #done = (group: string): boolean => this.given.has(group) || this.mine(group).length > 0

  #beside(by: 1 | -1): Ball | undefined {
    const here = this.ball
    if (!here) return undefined
    const at = this.listed.indexOf(here)
    return this.listed[at + by]
  }
}
