import { describe, expect, it } from 'vitest'
import { FakeShelf, uuids } from './ledger-fakes'
import { NetBook, type NetSession, type Press } from './net-book'

const session: NetSession = { key: 's-1', id: null, title: 'Tuesday', heldOn: '2026-02-01', plan: null }
const uuid = uuids('p')
const press = (kind: Press['kind'], at: number, part: Partial<Press> = {}): Press => ({
  uuid: uuid(), session: 's-1', kind, tick: { page: 'a', wall: at + 120_000, mono: at, hid: 0 }, block: null, ball: null, group: '', term: '', body: '', undoes: null, ...part,
})

describe('the book of the net', () => {
  it('is there again when the page is opened again', () => {
    const shelf = new FakeShelf()
    const book = new NetBook(shelf)
    book.begin(session)
    book.add(press('block', 1, { block: 1 }))
    const second = press('given', 2, { block: 1, ball: 0 })
    book.add(second)
    book.add(press('given', 3, { block: 1, ball: 1 }))
    book.add(press('undo', 4, { undoes: second.uuid }))
    for (const b of [book, new NetBook(shelf)]) {
      expect(b.session).toEqual(session)
      expect(b.block).toBe(1)
      expect(b.given(1)).toBe(1)
      expect(b.given(0)).toBe(0)
      expect(b.presses).toHaveLength(2)
    }
  })
  it('sends each press of each session at the server’s time, under the number that it has', () => {
    const book = new NetBook(new FakeShelf())
    book.begin(session)
    const first = press('start', 1_000)
    book.anchor({ ...press('look', 5_000).tick, server: 5_000, doubt: 3 })
    expect(book.batches([first])).toEqual([
      { new: { uuid: 's-1', title: 'Tuesday', held_on: '2026-02-01', plan_id: null }, marks: [expect.objectContaining({ uuid: first.uuid, made_ms: 1_000, doubt_ms: 3 })] },
    ])
    book.number('s-1', 12)
    book.close()
    book.begin({ ...session, key: 's-2' })
    expect(book.batches([first, press('look', 2_000, { session: 's-2' })]).map((b) => b.session_id ?? b.new?.uuid)).toEqual([12, 's-2'])
  })
  it('forgets a session only when nothing of it waits', () => {
    const shelf = new FakeShelf()
    const book = new NetBook(shelf)
    book.begin(session)
    book.add(press('look', 1))
    book.close()
    book.tidy(new Set(['s-1']))
    expect(book.sessionOf('s-1')).toEqual(session)
    book.tidy(new Set())
    expect(book.sessionOf('s-1')).toBeNull()
    expect(new NetBook(shelf).session).toBeNull()
  })
  it('says so when the browser keeps nothing, and goes on all the same', () => {
    const shelf = new FakeShelf()
    const book = new NetBook(shelf)
    book.begin(session)
    shelf.full = true
    expect(book.add(press('look', 1))).toBe(false)
    expect(book.presses).toHaveLength(1)
    expect(new NetBook(null).add(press('look', 1))).toBe(false)
  })
})
