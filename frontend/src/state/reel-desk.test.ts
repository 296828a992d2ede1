import { afterEach, beforeEach, expect, test, vi } from 'vitest'
import { ApiError } from '../api/error'
import type { Playlist, PlaylistItem, Reel, ReelInput } from '../api/types'
import { ReelDesk } from './reel-desk.svelte'

const api = vi.hoisted(() => ({ changeReel: vi.fn(), playlist: vi.fn(), reel: vi.fn() }))
vi.mock('../api/reels', () => api)

const item = (id: number) => ({ title: '', note: '', ball: { id } }) as PlaylistItem
const reel = (part: Partial<Reel> = {}): Reel => ({
  id: 1, title: 'Drives', note: '', question: null, made_by: 'Ada', revision: 1, players: [], balls: [], count: 3, updated: '', ...part,
})
const list = (part: Partial<Reel> = {}): Playlist => ({ reel: reel(part), squad: '', items: [1, 2, 3].map(item) })
const refused = (status: number) => new ApiError(status, 'No.')

/** Saves that are answered when the test says so. */
let saves: { body: ReelInput; done: () => void; fail: (err: unknown) => void }[]
beforeEach(() => {
  vi.useFakeTimers()
  saves = []
  api.playlist.mockImplementation(() => Promise.resolve(list()))
  api.changeReel.mockImplementation(
    (_: number, body: ReelInput) =>
      new Promise((done, fail) => saves.push({ body, done: () => done(reel({ revision: (body.revision ?? 0) + 1 })), fail })),
  )
})
afterEach(() => void vi.useRealTimers())

async function opened(): Promise<ReelDesk> {
  const desk = new ReelDesk(1)
  await desk.load()
  return desk
}
const settle = () => vi.advanceTimersByTimeAsync(0)

test('what is written while a save is on its way goes with the next, on its revision', async () => {
  const desk = await opened()
  desk.move(0, 2)
  const saved = desk.saver.save()
  desk.write(2, { note: 'Head still' })
  saves[0]!.done()
  await settle()
  expect(saves[1]!.body).toMatchObject({ revision: 2, balls: [{ ball_id: 2, note: 'Head still' }, { ball_id: 3 }, { ball_id: 1 }] })
  saves[1]!.done()
  await saved
  expect(desk.saver.saving).toBe('saved')
})

test('news that was asked for before something was written does not overwrite it', async () => {
  const desk = await opened()
  let answer = (_: Playlist) => {}
  api.playlist.mockImplementation(() => new Promise<Playlist>((done) => (answer = done)))
  const news = desk.load()
  desk.change({ title: 'Mine' })
  answer(list({ title: 'Theirs' }))
  await news
  expect(desk.reel?.title).toBe('Mine')
})

test('without a title nothing is sent', async () => {
  const desk = await opened()
  desk.change({ title: ' ' })
  await vi.advanceTimersByTimeAsync(5_000)
  expect(saves).toHaveLength(0)
  expect(desk.untitled).toBe(true)
})

test('after a conflict one keeps one’s own, or takes theirs', async () => {
  const desk = await opened()
  desk.change({ title: 'Mine' })
  const save = desk.saver.save()
  saves[0]!.fail(refused(409))
  await save
  expect(desk.saver.saving).toBe('failed')
  api.reel.mockResolvedValue(reel({ revision: 7, title: 'Theirs' }))
  const keeping = desk.keepMine()
  await settle()
  expect(saves[1]!.body).toMatchObject({ title: 'Mine', revision: 7 })
  saves[1]!.done()
  await keeping
  expect(desk.saver.saving).toBe('saved')

  desk.change({ title: 'Mine again' })
  const again = desk.saver.save()
  saves[2]!.fail(refused(409))
  await again
  api.playlist.mockResolvedValue(list({ title: 'Theirs', revision: 9 }))
  await desk.takeTheirs()
  expect([desk.reel?.title, desk.reel?.revision, desk.saver.saving]).toEqual(['Theirs', 9, 'saved'])
})

test('a ball taken out comes back to its place', async () => {
  const desk = await opened()
  const back = desk.remove(2)
  expect(desk.items.map((i) => i.ball.id)).toEqual([1, 3])
  back()
  expect(desk.items.map((i) => i.ball.id)).toEqual([1, 2, 3])
})
