/**
 * The uploads of one session, as the page shows them: files on their way from here, and what the server knows of
 * others. Two files go at a time; one that fails never holds up the rest. No DOM: what carries the bytes is handed in.
 */
import type { Camera, Upload as ServerRow } from '../api/types'
import type { Carrier, MakeCarrier } from './carrier'
import { Speed } from './speed'

/**
 * `chosen`: waits for the person to say go. `waiting`: for its turn. `stalled`: for the connection. `landed`: all
 * bytes are there and the server goes on.
 */
export type Phase = 'chosen' | 'waiting' | 'sending' | 'paused' | 'stalled' | 'landed' | 'failed'

const AT_ONCE = 2
const FIRST_RETRY = 5000
const LONGEST_RETRY = 60_000

export class FileRow {
  readonly key: number
  readonly file: File
  camera = $state<Camera>('side-on')
  phase = $state<Phase>('chosen')
  sent = $state(0)
  /** Bytes a second, 0 while not known. */
  speed = $state(0)
  problem = $state('')
  tusId = $state('')
  carrier: Carrier | null = null
  measured = new Speed()
  retryIn = FIRST_RETRY

  constructor(key: number, file: File, camera: Camera, tusId: string) {
    this.key = key
    this.file = file
    this.camera = camera
    this.tusId = tusId
  }

  get share(): number {
    return this.file.size === 0 ? 0 : Math.min(1, this.sent / this.file.size)
  }
  /** Seconds left at the present speed; null while not known. */
  get left(): number | null {
    return this.speed > 0 ? (this.file.size - this.sent) / this.speed : null
  }
  get moving(): boolean {
    return this.phase === 'sending' || this.phase === 'waiting' || this.phase === 'stalled'
  }
}

export interface World {
  carry: MakeCarrier
  now: () => number
  /** Runs `fn` when the connection comes back; returns the way to stop. */
  onReturn: (fn: () => void) => () => void
  after: (ms: number, fn: () => void) => () => void
  /** All bytes of an upload have arrived, or it was discarded: the server's rows have changed. */
  changed: () => void
}

export class SessionUploads {
  readonly session: number
  files = $state.raw<FileRow[]>([])
  #world: World
  #next = 1
  #waits = new Map<FileRow, () => void>()

  constructor(session: number, world: World) {
    this.session = session
    this.#world = world
  }

  // No $derived here: it would die with the page on which this object was made, and the object lives on.
  /** Bytes are, or soon will be, on their way. */
  get busy(): boolean {
    return this.files.some((f) => f.moving)
  }

  /** Takes files in; they wait for `go`. The same file is not taken twice; one without bytes is refused on its row. */
  add(files: Iterable<File>, camera: Camera = 'side-on'): void {
    for (const file of files) {
      if (this.files.some((f) => f.phase !== 'failed' && same(f.file, file))) continue
      const row = new FileRow(this.#next++, file, camera, '')
      if (file.size === 0) this.#fail(row, 'The file is empty. Copy it from the camera again, then pick it anew.')
      this.files = [...this.files.filter((f) => !same(f.file, file)), row]
    }
  }

  /**
   * Goes on with an upload that the server knows of, with the file picked again. Answers why not, '' when it goes.
   */
  rejoin(row: Pick<ServerRow, 'tus_id' | 'file_name' | 'size' | 'camera'>, file: File): string {
    if (file.size !== row.size) {
      return `That is not the same file: it has another size. Pick “${row.file_name}” again, or cancel this upload.`
    }
    const again = new FileRow(this.#next++, file, row.camera, row.tus_id)
    again.phase = 'waiting'
    this.files = [...this.files.filter((f) => f.tusId !== row.tus_id), again]
    this.#fill()
    return ''
  }

  /** Sends all that were chosen. */
  go(): void {
    for (const f of this.files) if (f.phase === 'chosen') f.phase = 'waiting'
    this.#fill()
  }

  async pause(row: FileRow): Promise<void> {
    if (!row.moving) return
    this.#unwait(row)
    row.phase = 'paused'
    row.problem = ''
    row.speed = 0
    row.measured.forget()
    await row.carrier?.pause()
    this.#fill()
  }

  /** Goes on after a pause or a failure. */
  resume(row: FileRow): void {
    if (row.phase !== 'paused' && row.phase !== 'failed' && row.phase !== 'stalled') return
    this.#unwait(row)
    row.problem = ''
    row.phase = 'waiting'
    this.#fill()
  }

  /** Takes a file out; what has arrived of it is thrown away. */
  async cancel(row: FileRow): Promise<void> {
    this.#unwait(row)
    this.files = this.files.filter((f) => f !== row)
    this.#fill()
    if (row.carrier && row.phase !== 'landed') await row.carrier.discard()
    this.#world.changed()
  }

  /** Stops and lets go of all, keeping what has arrived: the person has signed out. */
  close(): void {
    for (const f of this.files) {
      this.#unwait(f)
      if (f.moving) void f.carrier?.pause()
    }
    this.files = []
  }

  #fill(): void {
    let free = AT_ONCE - this.files.filter((f) => f.phase === 'sending').length
    for (const f of this.files) {
      if (free <= 0) return
      if (f.phase !== 'waiting') continue
      free--
      this.#send(f)
    }
  }

  #send(row: FileRow): void {
    row.phase = 'sending'
    row.carrier ??= this.#world.carry(
      { file: row.file, session: this.session, camera: row.camera, tusId: row.tusId },
      {
        onAddress: (tusId) => (row.tusId = tusId),
        onProgress: (sent) => this.#progress(row, sent),
        onDone: () => this.#done(row),
        onStop: (words, passing) => this.#stopped(row, words, passing),
      },
    )
    row.carrier.start()
  }

  #progress(row: FileRow, sent: number): void {
    if (row.phase !== 'sending') return
    if (sent > row.sent) row.retryIn = FIRST_RETRY
    row.sent = sent
    row.measured.mark(this.#world.now(), sent)
    row.speed = row.measured.perSecond
  }

  #done(row: FileRow): void {
    row.phase = 'landed'
    row.sent = row.file.size
    row.speed = 0
    this.#world.changed()
    this.#fill()
  }

  #stopped(row: FileRow, words: string, passing: boolean): void {
    if (row.phase !== 'sending') return
    row.measured.forget()
    row.speed = 0
    if (passing) {
      row.phase = 'stalled'
      row.problem = words
      this.#waitFor(row)
    } else {
      this.#fail(row, words)
    }
    this.#fill()
  }

  #fail(row: FileRow, words: string): void {
    row.phase = 'failed'
    row.problem = words
  }

  // Until the connection returns, or for a while, whichever is sooner.
  #waitFor(row: FileRow): void {
    const go = () => this.resume(row)
    const stops = [this.#world.onReturn(go), this.#world.after(row.retryIn, go)]
    row.retryIn = Math.min(row.retryIn * 2, LONGEST_RETRY)
    this.#waits.set(row, () => stops.forEach((stop) => stop()))
  }

  #unwait(row: FileRow): void {
    this.#waits.get(row)?.()
    this.#waits.delete(row)
  }
}

const same = (a: File, b: File): boolean => a.name === b.name && a.size === b.size && a.lastModified === b.lastModified

/** What the page lists beside its own files: rows of the server that no file here stands for. */
export interface ServerOnly {
  row: ServerRow
  /** `broken`: it waits for its file to be picked again. */
  standing: 'broken' | 'checking' | 'duplicate' | 'failed'
}

/**
 * Rows of the server beside the page's own files. Adopted ones are recordings by now. Files of the page that the
 * server has taken over are named in `settled`, so that their rows can go.
 */
export function merge(files: readonly FileRow[], rows: readonly ServerRow[]): { others: ServerOnly[]; settled: FileRow[] } {
  const byTus = new Map(rows.map((r) => [r.tus_id, r]))
  const settled = files.filter((f) => {
    const row = byTus.get(f.tusId)
    return f.phase === 'landed' && row !== undefined && row.state !== 'open' && row.state !== 'landed'
  })
  const here = new Set(files.filter((f) => !settled.includes(f)).map((f) => f.tusId))
  const standing = { open: 'broken', landed: 'checking', duplicate: 'duplicate', failed: 'failed' } as const
  const others = rows.flatMap((row): ServerOnly[] =>
    row.state === 'adopted' || here.has(row.tus_id) ? [] : [{ row, standing: standing[row.state] }],
  )
  return { others, settled }
}
