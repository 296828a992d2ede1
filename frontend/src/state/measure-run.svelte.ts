/**
 * Every struck ball of a session measured in the background of the page: the still at contact, the model's points on it,
 * the values that follow, kept as proposed. It goes on while other pages are looked at; leaving netreel ends it, and
 * starting again goes on where it was, since what has a reading is passed over. A ball that failed has another turn later;
 * while the server can't be reached, the run waits for it.
 */
import * as balls from '../api/balls'
import { ApiError, wordsOf } from '../api/error'
import * as api from '../api/measuring'
import * as sessions from '../api/sessions'
import type { Ball, Box, Recording } from '../api/types'
import { find, PoseUnavailable } from '../pose/pose'
import { toRecording } from '../time/span'
import { boxOn, wayTo } from './batter'
import { connection } from './connection.svelte'
import { MODEL } from './measure-desk.svelte'
import { partsOf } from './measure-parts'
import { trackOf } from './player-track'

/** One ball to look at. */
export interface Task {
  /** Of the reading that it will be: sent twice it is kept once. */
  uuid: string
  ball: Ball
  recording: Recording
  box: Box
  at: number
  bats: 'right' | 'left'
}

/** Which balls are to be measured on which recording: struck, not read yet, on the first camera that is ready for it. */
export function tasksOf(all: readonly Ball[], cameras: readonly { recording: Recording; box: Box }[], read: ReadonlySet<number>, bats: (ball: Ball) => 'right' | 'left'): Task[] {
  return all.flatMap((ball): Task[] => {
    const { contact_us } = ball
    if (contact_us === null || read.has(ball.id)) return []
    const camera = cameras.find((c) => ball.clips.some((k) => k.recording_id === c.recording.id))
    return camera ? [{ uuid: crypto.randomUUID(), ball, ...camera, at: toRecording(camera.recording, contact_us), bats: bats(ball) }] : []
  })
}

/** How often a ball has its turn, and how many in a row may fail before somebody has to look. */
const TURNS = 3
const IN_A_ROW = 3
/** So many of the latest balls say how long the next ones take. */
const PACE_OF = 8

export class MeasureRun {
  session = $state(0)
  total = $state(0)
  done = $state(0)
  /** Balls on which nobody was made out, or that could not be looked at. */
  missed = $state.raw<readonly number[]>([])
  state = $state<'idle' | 'running' | 'paused' | 'done'>('idle')
  problem = $state('')
  /** Seconds that the latest balls took. */
  #took = $state.raw<readonly number[]>([])
  /** Seconds a ball; null until that is known. */
  readonly pace = $derived.by(() => (this.#took.length > 0 ? this.#took.reduce((sum, s) => sum + s, 0) / this.#took.length : null))
  /** Seconds until all are done, by the latest balls. */
  readonly left = $derived.by(() => (this.pace === null ? null : this.pace * (this.total - this.done)))
  #tasks: Task[] = []
  #failed = new Map<Task, number>()
  #turn = 0
  #loop: Promise<void> | null = null
  #stop = new AbortController()
  #waits = false

  constructor() {
    connection.onReturn(() => this.#waits && this.resume())
  }

  /** Measures a session's balls, or says what is missing for it. */
  async start(session: number): Promise<void> {
    const turn = ++this.#turn
    this.#stop.abort()
    this.#stop = new AbortController()
    this.session = session
    this.total = this.done = 0
    this.missed = []
    this.#took = []
    this.#tasks = []
    this.#failed.clear()
    this.problem = ''
    this.state = 'running'
    try {
      await this.#loop // of another session: it ends with the ball at hand
      const [of, lane, all, readings] = await Promise.all([
        sessions.session(session),
        sessions.lane(session),
        balls.sessionBalls(session),
        api.sessionReadings(session),
      ])
      const cameras: { recording: Recording; box: Box }[] = []
      for (const recording of lane.recordings) {
        const { calibration } = await api.calibration(recording.id)
        if (calibration?.box) cameras.push({ recording, box: calibration.box })
      }
      if (turn !== this.#turn) return
      if (cameras.length === 0) throw new PoseUnavailable('No camera of this session is calibrated with a batter’s box yet. Calibrate one and draw the box, then start again.')
      const read = new Set(readings.map((r) => r.ball_id))
      this.#tasks = tasksOf(all, cameras, read, (b) => of.players.find((p) => p.id === b.player_id)?.bats ?? 'right')
      this.total = this.#tasks.length
      this.#go()
    } catch (err) {
      if (turn === this.#turn) this.#fail(err)
    }
  }

  pause(): void {
    if (this.state === 'running') this.state = 'paused'
  }

  resume(): void {
    if (this.state !== 'paused') return
    this.problem = ''
    this.#waits = false
    this.state = 'running'
    this.#go()
  }

  #fail(err: unknown): void {
    this.problem = wordsOf(err)
    this.state = this.#tasks.length > 0 ? 'paused' : 'idle'
    this.#waits = this.state === 'paused' && isOffline(err)
    if (this.#waits && !connection.lost) this.resume() // it came back meanwhile
  }

  /** Works, unless that is going on: one ball at a time. */
  #go(): void {
    this.#loop ??= this.#work(this.#turn).finally(() => {
      this.#loop = null
      if (this.state === 'running' && this.#tasks.length > 0) this.#go() // it was to go on while it came to its end
    })
  }

  async #work(turn: number): Promise<void> {
    let row = 0
    let warm = false
    const over = () => turn !== this.#turn
    while (!over() && this.state === 'running') {
      const task = this.#tasks[0]
      if (!task) {
        this.state = 'done'
        return
      }
      const began = performance.now()
      try {
        const found = await measure(task, this.#stop.signal)
        if (over()) return
        row = 0
        this.#tasks.shift()
        this.#end(task, found)
        // The first look opens the models, which says nothing of the next.
        if (warm) this.#took = [...this.#took, (performance.now() - began) / 1000].slice(-PACE_OF)
        warm = true
      } catch (err) {
        if (over()) return
        if (isOffline(err) || err instanceof PoseUnavailable || ++row >= IN_A_ROW) {
          this.#fail(err)
          return
        }
        this.#tasks.shift()
        const tries = (this.#failed.get(task) ?? 0) + 1
        this.#failed.set(task, tries)
        if (tries < TURNS) this.#tasks.push(task)
        else this.#end(task, false)
      }
    }
  }

  #end(task: Task, found: boolean): void {
    this.done++
    if (!found) this.missed = [...this.missed, task.ball.id]
  }
}

const isOffline = (err: unknown): boolean => err instanceof ApiError && err.offline

/** Measures a ball; false: nobody was made out. One that a person has measured meanwhile stays as it is. */
async function measure(t: Task, signal: AbortSignal): Promise<boolean> {
  const still = await createImageBitmap(await api.still(t.recording.id, t.at))
  const clip = t.ball.clips.find((c) => c.recording_id === t.recording.id)
  const track = clip ? trackOf(clip, t.recording.rate_ppm) : null
  const box = await boxOn(still, t.box, () => wayTo(t.ball, track, t.box, signal))
  const body = await find(still, box)
  if (!body) return false
  const proposed = partsOf(body, t.bats)
  const points = Object.fromEntries(Object.entries(proposed).map(([key, p]) => [key, { x: p.x, y: p.y }]))
  try {
    await api.addReading({
      uuid: t.uuid,
      ball_id: t.ball.id,
      recording_id: t.recording.id,
      proposed_by: MODEL,
      status: 'proposed',
      sights: { contact: { at_us: t.at, points, proposed } },
    })
  } catch (err) {
    if (!(err instanceof ApiError && err.conflict)) throw err
  }
  return true
}

/** One for the whole page, whichever of its pages is shown. */
export const measureRun = new MeasureRun()
