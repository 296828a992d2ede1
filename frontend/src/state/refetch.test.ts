import { afterEach, beforeEach, expect, test, vi } from 'vitest'
import { coalesce, paced } from './refetch'

beforeEach(() => void vi.useFakeTimers())
afterEach(() => void vi.useRealTimers())

test('asked often while it runs, it runs once more', async () => {
  const go: (() => void)[] = []
  let runs = 0
  const fetch = coalesce(() => (runs++, new Promise<void>((done) => go.push(done))))
  const all = Promise.all([fetch(), fetch(), fetch()])
  expect(runs).toBe(1)
  go[0]!()
  await vi.waitFor(() => expect(runs).toBe(2))
  go[1]!()
  await all
  expect(runs).toBe(2)
})

test('news by the dozen is fetched at a pace, the last of it too', async () => {
  let runs = 0
  const fetch = paced(async () => void runs++, 2_000)
  for (let i = 0; i < 50; i++) {
    void fetch()
    await vi.advanceTimersByTimeAsync(100)
  }
  expect(runs).toBe(3) // at 0, 2 and 4 seconds
  await vi.advanceTimersByTimeAsync(10_000)
  expect(runs).toBe(4)
})
