/**
 * The session at the net: what is pressed is in the browser's storage at once, and goes to the server when it can be
 * reached. Sent twice, or by two phones, each press is kept once: it bears a number of its own.
 */
import { ApiError } from '../api/error'
import { me as askWho } from '../api/people'
import * as api from '../api/plans'
import type { Plan } from '../api/types'
import { connection } from './connection.svelte'
import { judge, shelf, Stranger } from './ledger.svelte'
import { LedgerQueue, type QueueState, type Waiting } from './ledger-queue'
import { NetBook, type NetSession, type Press } from './net-book'
import { look, serverTime, type Tick } from './net-clock'

const page = crypto.randomUUID()
let hid = 0

/** The phone's clocks now, or so many ms ago. */
function tick(ago = 0): Tick {
  return { page, wall: Date.now() - ago, mono: performance.now() - ago, hid }
}

/** How old the last look at the server's clock may be before something is sent. */
const FRESH = 5 * 60_000

type Part = Partial<Pick<Press, 'block' | 'ball' | 'group' | 'term' | 'body' | 'undoes'>>

class AtTheNet {
  #book = new NetBook(shelf())
  #queue: LedgerQueue<Press, void> | null = null
  /** Pressed before it was known who presses. */
  #early: Press[] = []
  #account = 0
  #sure = false
  #looked = -Infinity

  session = $state.raw<NetSession | null>(this.#book.session)
  presses = $state.raw<readonly Press[]>(this.#book.presses)
  waiting = $state.raw<readonly Waiting<Press>[]>([])
  refused = $state.raw<readonly Waiting<Press>[]>([])
  state = $state<QueueState>('idle')
  /** The browser keeps nothing: the page must stay open until all is sent. */
  homeless = $state(false)

  /** Begins to send for an account, with what an earlier page left behind. Returns the way to stop. */
  start(account: number): () => void {
    this.#account = account
    this.#sure = false
    const queue = new LedgerQueue<Press, void>(
      account,
      {
        send: (presses) => this.#send(presses),
        judge,
        later: (ms, fn) => {
          // A phone in a pocket spares its battery: what waits is sent when the page is seen again.
          const timer = setTimeout(() => document.visibilityState === 'visible' && fn(), ms)
          return () => clearTimeout(timer)
        },
        shelf: shelf(),
        now: Date.now,
        changed: () => this.#read(),
        saved: () => {},
      },
      'net',
    )
    this.#queue = queue
    this.#book.tidy(new Set([...queue.waiting, ...queue.refused].map((w) => w.entry.session)))
    if (this.#early.length > 0) queue.add(this.#early.splice(0))
    this.#read()
    queue.flush()
    const again = () => queue.flush()
    const seen = () => {
      if (document.visibilityState === 'visible') again()
      else hid++
    }
    const stopWaiting = connection.onReturn(again)
    document.addEventListener('visibilitychange', seen)
    addEventListener('online', again)
    return () => {
      stopWaiting()
      document.removeEventListener('visibilitychange', seen)
      removeEventListener('online', again)
      queue.close()
      if (this.#queue === queue) this.#queue = null
    }
  }

  /** Begins a session: one that the server has (id), or a new one. */
  begin(title: string, plan: Plan | null, id: number | null): void {
    const now = new Date()
    const heldOn = [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((n) => String(n).padStart(2, '0')).join('-')
    this.#book.begin({ key: crypto.randomUUID(), id, title, heldOn, plan })
    this.press('start')
  }

  /** Notes a press, or what was so many ms ago. */
  press(kind: Press['kind'], part: Part = {}, ago = 0): void {
    const s = this.#book.session
    if (!s) return
    const p: Press = { uuid: crypto.randomUUID(), session: s.key, kind, tick: tick(ago), block: this.block, ball: null, group: '', term: '', body: '', undoes: null, ...part }
    if (!this.#book.add(p)) this.homeless = true
    if (this.#queue) this.#queue.add([p])
    else this.#early.push(p)
    this.#read()
  }

  /** Takes the last press back; the session's start stays. */
  undo(): Press | null {
    const last = this.presses.findLast((p) => p.kind !== 'start') ?? null
    if (last) this.press('undo', { undoes: last.uuid })
    return last
  }

  get block(): number | null {
    return this.presses.findLast((p) => p.kind === 'block')?.block ?? null
  }

  given(block: number | null): number {
    return this.presses.filter((p) => p.kind === 'given' && p.block === block).length
  }

  /** When a press was, by the server's clock as far as it is known, in ms. */
  when(p: Press): number {
    return serverTime(p.tick, this.#book.anchors).ms
  }
  /** Now, by the same clock. */
  now(): number {
    return serverTime(tick(), this.#book.anchors).ms
  }

  /** Puts the session away; what waits is still sent. */
  end(): void {
    this.#book.close()
    this.#read()
  }

  retry(): void {
    for (const w of this.refused) this.#queue?.retry(w.entry.uuid)
    this.#queue?.flush()
  }

  async #send(presses: Press[]): Promise<void> {
    if (!this.#sure) {
      if ((await askWho()).id !== this.#account) throw new Stranger('somebody else is signed in')
      this.#sure = true
    }
    try {
      if (performance.now() - this.#looked > FRESH || presses.some((p) => p.tick.page === page && p.tick.hid !== hid)) {
        this.#book.anchor(await look(() => tick(), async () => (await api.serverClock()).now_ms))
        this.#looked = performance.now()
      }
      for (const batch of this.#book.batches(presses)) {
        const { session_id } = await api.takeMarks(batch)
        if (batch.new) this.#book.number(batch.new.uuid, session_id)
      }
    } catch (err) {
      if (err instanceof ApiError) this.#sure = false
      throw err
    }
  }

  #read(): void {
    this.session = this.#book.session
    this.presses = this.#book.presses
    this.waiting = this.#queue?.waiting ?? []
    this.refused = this.#queue?.refused ?? []
    this.state = this.#queue?.state ?? 'idle'
    if (this.waiting.length === 0) this.homeless = false
  }
}

export const atTheNet = new AtTheNet()
