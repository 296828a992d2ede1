/**
 * Every struck ball of a session measured in the background of the page: the still at contact, the model's points on it,
 * the values that follow, kept as proposed. It goes on while other pages are looked at; leaving netreel ends it, and
 * starting again goes on where it was, since what has a reading is passed over.
 */
import * as balls from '../api/balls'
import { wordsOf } from '../api/error'
import * as api from '../api/measuring'
import * as sessions from '../api/sessions'
import type { Ball, Box, Recording } from '../api/types'
import { pose, PoseUnavailable } from '../pose/pose'
import { toRecording } from '../time/span'
import { MODEL } from './measure-desk.svelte'
import { partsOf } from './measure-parts'

/** One ball to look at. */
export interface Task {
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
    return camera ? [{ ball, ...camera, at: toRecording(camera.recording, contact_us), bats: bats(ball) }] : []
  })
}

export class MeasureRun {
  session = $state(0)
  total = $state(0)
  done = $state(0)
  /** Balls on which nobody was made out. */
  missed = $state.raw<readonly number[]>([])
  state = $state<'idle' | 'running' | 'paused' | 'done'>('idle')
  problem = $state('')
  #turn = 0
  #tasks: Task[] = []

  /** Measures a session's balls, or says what is missing for it. */
  async start(session: number): Promise<void> {
    const turn = ++this.#turn
    this.session = session
    this.total = this.done = 0
    this.missed = []
    this.problem = ''
    this.state = 'running'
    try {
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
      await this.#work(turn)
    } catch (err) {
      if (turn === this.#turn) this.#fail(err)
    }
  }

  pause(): void {
    if (this.state !== 'running') return
    this.#turn++
    this.state = 'paused'
  }

  async resume(): Promise<void> {
    if (this.state !== 'paused') return
    this.problem = ''
    this.state = 'running'
    const turn = ++this.#turn
    try {
      await this.#work(turn)
    } catch (err) {
      if (turn === this.#turn) this.#fail(err)
    }
  }

  #fail(err: unknown): void {
    this.problem = err instanceof PoseUnavailable ? err.message : wordsOf(err)
    this.state = this.#tasks.length > 0 ? 'paused' : 'idle'
  }

  async #work(turn: number): Promise<void> {
    while (turn === this.#turn) {
      const task = this.#tasks[0]
      if (!task) {
        this.state = 'done'
        return
      }
      const found = await measure(task)
      if (turn !== this.#turn) return
      this.#tasks.shift()
      this.done++
      if (!found) this.missed = [...this.missed, task.ball.id]
    }
  }
}

async function measure(t: Task): Promise<boolean> {
  const still = new Image()
  still.src = api.stillUrl(t.recording.id, t.at)
  await still.decode()
  const body = await pose.find(still, t.box)
  if (!body) return false
  const proposed = partsOf(body, t.bats)
  const points = Object.fromEntries(Object.entries(proposed).map(([key, p]) => [key, { x: p.x, y: p.y }]))
  await api.addReading({
    uuid: crypto.randomUUID(),
    ball_id: t.ball.id,
    recording_id: t.recording.id,
    proposed_by: MODEL,
    status: 'proposed',
    sights: { contact: { at_us: t.at, points, proposed } },
  })
  return true
}

/** One for the whole page, whichever of its pages is shown. */
export const measureRun = new MeasureRun()
