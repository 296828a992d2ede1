import { expect, test } from 'vitest'
import type { Ball } from '../api/types'
import type { Body } from '../pose/landmarks'
import type { Look } from './batter'
import { Looks, type Eyes, type Frozen, type Subject } from './looks.svelte'

const BOX = { x: 0.2, y: 0.2, width: 0.3, height: 0.6 }
const subject = (id: number): Subject => ({ ball: { id } as Ball, recording: 1, bats: 'right', track: null })
const frozen = (session: number): Frozen => ({ picture: {} as HTMLCanvasElement, at: session, session })
const body = (of: string) => ({ of }) as unknown as Body
const soon = () => new Promise((done) => setTimeout(done))

/** Models whose answers come when the test says so. */
class FakeEyes implements Eyes {
  able = true
  asked: string[] = []
  #answers = new Map<number, { done: (l: Look | null) => void; failed: (e: Error) => void }>()
  usable = () => this.able
  open = () => {}
  on = (): Promise<Body | null> => Promise.resolve(body('the frame'))
  follow = () => Promise.resolve([])
  ahead = (s: Subject) => {
    this.asked.push(`ahead ${s.ball.id}`)
    return new Promise<Look | null>((done, failed) => this.#answers.set(s.ball.id, { done, failed }))
  }
  async answer(ball: number, look: Look | null | Error): Promise<void> {
    const a = this.#answers.get(ball)!
    if (look instanceof Error) a.failed(look)
    else a.done(look)
    await soon()
  }
}

test('the balls to come are looked at in their order, two at a time and each once', async () => {
  const eyes = new FakeEyes()
  const looks = new Looks(eyes)
  looks.turnTo(subject(1))
  looks.ahead([subject(2), subject(3), subject(4)], BOX)
  looks.ahead([subject(2), subject(3), subject(4)], BOX)
  expect(eyes.asked).toEqual(['ahead 2', 'ahead 3'])
  await eyes.answer(2, null)
  expect(eyes.asked).toEqual(['ahead 2', 'ahead 3', 'ahead 4'])
  // The person went on meanwhile.
  looks.turnTo(subject(2))
  looks.ahead([subject(3), subject(4), subject(5)], BOX)
  await eyes.answer(3, new Error('broken'))
  expect(eyes.asked).toEqual(['ahead 2', 'ahead 3', 'ahead 4', 'ahead 5'])
  await eyes.answer(4, null)
  await eyes.answer(5, null)
  looks.ahead([subject(3), subject(4), subject(5)], BOX)
  expect(eyes.asked).toHaveLength(4)
})

/** Ball 2 is at hand, which was looked at while ball 1 was. */
function comeTo2() {
  const eyes = new FakeEyes()
  const looks = new Looks(eyes)
  looks.turnTo(subject(1))
  looks.ahead([subject(2)], BOX)
  looks.turnTo(subject(2))
  return { eyes, looks }
}

test('what was seen early is taken for the very frame alone, and waited for', async () => {
  const { eyes, looks } = comeTo2()
  const found = looks.on(frozen(1_640_000), BOX)
  await eyes.answer(2, { at: 1_640_001, body: body('early'), way: [] })
  expect(await found).toEqual(body('early'))
  expect(await looks.on(frozen(1_660_000), BOX)).toEqual(body('the frame'))
})

test.each([['failed', new Error('broken')], ['made nobody out', { at: 5, body: null, way: [] }]])('where looking early %s, the frame itself is looked at', async (_, early) => {
  const { eyes, looks } = comeTo2()
  const found = looks.on(frozen(5), BOX)
  await eyes.answer(2, early)
  expect(await found).toEqual(body('the frame'))
})

test('nothing more is looked at once measuring ends, or where no model runs', async () => {
  const eyes = new FakeEyes()
  const looks = new Looks(eyes)
  looks.turnTo(subject(1))
  looks.ahead([subject(2), subject(3), subject(4)], BOX)
  looks.close()
  await eyes.answer(2, null)
  await eyes.answer(3, null)
  expect(eyes.asked).toEqual(['ahead 2', 'ahead 3'])
  // It begins again as if nothing had been seen.
  looks.turnTo(subject(1))
  looks.ahead([subject(2)], BOX)
  expect(eyes.asked).toEqual(['ahead 2', 'ahead 3', 'ahead 2'])
  eyes.able = false
  const blind = new Looks(eyes)
  blind.turnTo(subject(1))
  blind.ahead([subject(7)], BOX)
  expect(eyes.asked).toHaveLength(3)
})
