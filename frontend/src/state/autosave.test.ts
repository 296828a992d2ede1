import { afterEach, beforeEach, expect, test, vi } from 'vitest'
import { ApiError } from '../api/error'
import { Autosave } from './autosave.svelte'

/** A page with one text, whose saves are answered when the test says so. */
class Page {
  text = ''
  /** What the page took over from the server's answers: all of it, or only the number of the save. */
  took: ('all' | 'number')[] = []
  sent: { text: string; leaving: boolean; done: () => void; fail: (err: unknown) => void }[] = []
  readonly save = new Autosave({
    ready: () => this.text !== '',
    send: async (leaving, last) => {
      await new Promise<void>((done, fail) => this.sent.push({ text: this.text, leaving, done, fail }))
      this.took.push(last() ? 'all' : 'number')
    },
  })
  write(text: string) {
    this.text = text
    this.save.soon()
  }
  get texts() {
    return this.sent.map((s) => s.text)
  }
}

let page: Page
beforeEach(() => {
  vi.useFakeTimers()
  page = new Page()
})
afterEach(() => void vi.useRealTimers())
const after = (ms: number) => vi.advanceTimersByTimeAsync(ms)

test('what is written is saved once, a moment after the last letter', async () => {
  for (const text of ['d', 'dr', 'drive']) {
    page.write(text)
    expect(page.save.saving).toBe('waiting')
    await after(699)
  }
  expect(page.texts).toEqual([])
  await after(1)
  expect(page.texts).toEqual(['drive'])
  expect(page.save.saving).toBe('saving')
  page.sent[0]!.done()
  await after(0)
  expect([page.save.saving, page.took]).toEqual(['saved', ['all']])
  await after(60_000)
  expect(page.texts).toHaveLength(1)
})

test('one save at a time: what is written meanwhile goes with the next, and is not overwritten by the answer', async () => {
  page.write('a')
  const saved = page.save.save()
  page.write('b')
  page.write('c')
  expect(page.save.save()).toBe(saved)
  expect(page.texts).toEqual(['a'])
  page.sent[0]!.done()
  await after(0)
  expect(page.texts).toEqual(['a', 'c'])
  page.sent[1]!.done()
  await saved
  expect([page.save.saving, page.took]).toEqual(['saved', ['number', 'all']])
})

test('what is not ready waits until it is', async () => {
  page.write('')
  await after(60_000)
  expect([page.texts, page.save.saving]).toEqual([[], 'waiting'])
  page.write('x')
  await after(700)
  expect(page.texts).toEqual(['x'])
})

test('a lost connection is tried again by itself, a refusal is not', async () => {
  page.write('x')
  await after(700)
  page.sent[0]!.fail(ApiError.unreachable())
  await after(0)
  expect(page.save.saving).toBe('failed')
  await after(4_999)
  expect(page.texts).toHaveLength(1)
  await after(1)
  expect(page.texts).toEqual(['x', 'x'])
  const refusal = ApiError.fromProblem(400, { detail: 'No.', errors: [{ field: 'title', reason: 'is too long' }] })
  page.sent[1]!.fail(refusal)
  await after(60_000)
  expect([page.texts.length, page.save.saving, page.save.unsaved]).toEqual([2, 'failed', refusal])
  expect([page.save.wrong('title'), page.save.wrong('note'), page.save.conflict]).toEqual(['is too long', '', false])

  page.write('y')
  await after(700)
  page.sent[2]!.done()
  await after(0)
  expect([page.texts[2], page.save.saving, page.save.unsaved, page.save.wrong('title')]).toEqual(['y', 'saved', null, ''])
})

test('what is written while a save is refused is sent: it may be the mending', async () => {
  page.write('x')
  await after(700)
  page.write('y')
  page.sent[0]!.fail(new ApiError(400, 'No.'))
  await after(700)
  expect(page.texts).toEqual(['x', 'y'])
})

test('a page that is left sends what waits at once', async () => {
  page.write('x')
  void page.save.save(true)
  expect(page.sent.map((s) => [s.text, s.leaving])).toEqual([['x', true]])
})

test('a conflict is given up, or saved over', async () => {
  page.write('x')
  const first = page.save.save()
  page.sent[0]!.fail(new ApiError(409, 'No.'))
  await first
  expect(page.save.conflict).toBe(true)
  const again = page.save.save()
  page.sent[1]!.fail(new ApiError(409, 'No.'))
  await again
  page.save.giveUp()
  expect([page.save.saving, page.save.unsaved, page.save.conflict]).toEqual(['saved', null, false])
  await after(60_000)
  expect(page.texts).toHaveLength(2)
})
