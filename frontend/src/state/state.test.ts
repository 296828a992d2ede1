import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { call } from '../api/client'
import type { Me } from '../api/types'
import { ask, confirmation } from './confirm.svelte'
import { me } from './me.svelte'
import { toasts } from './toasts.svelte'

const nia: Me = { id: 1, name: 'Nia', role: 'analyst', squad: 'S', player_id: null, has_password: false, email: '' }
const answers = (status: number, body: unknown) =>
  vi.stubGlobal('fetch', vi.fn(async () => new Response(JSON.stringify(body), { status, headers: { 'Content-Type': 'application/json' } })))

afterEach(() => {
  vi.unstubAllGlobals()
  vi.useRealTimers()
})

describe('me', () => {
  it('is whom the server knows', async () => {
    answers(200, nia)
    await me.load()
    expect([me.standing, me.staff, me.coach, me.player]).toEqual(['in', true, false, false])
  })
  it('is signed out by a 401 to any call', async () => {
    const stop = me.start()
    me.is(nia)
    answers(401, { detail: 'Sign in.' })
    await call('get', '/api/sessions').catch(() => {})
    stop()
    expect([me.standing, me.who]).toEqual(['out', null])
  })
  it('stays signed in when the server is away', async () => {
    me.is(nia)
    vi.stubGlobal('fetch', vi.fn(async () => { throw new TypeError('failed') }))
    await me.load()
    expect(me.standing).toBe('in')
  })
})

describe('toasts', () => {
  beforeEach(() => {
    vi.useFakeTimers()
    for (const t of [...toasts.list]) toasts.drop(t.id)
  })
  it('go by themselves, but not bad news', () => {
    toasts.good('Saved.')
    toasts.fail(new Error('The disk is full.'))
    vi.runAllTimers()
    expect(toasts.list.map((t) => t.text)).toEqual(['The disk is full.'])
  })
  it('do not pile up the same words', () => {
    toasts.fail(new Error('No.'))
    toasts.fail(new Error('No.'))
    expect(toasts.list).toHaveLength(1)
  })
})

describe('ask', () => {
  const q = { title: 'Delete?', text: 'It is gone then.', yes: 'Delete' }
  it('resolves to the answer', async () => {
    const first = ask(q)
    confirmation.answer(true)
    expect(await first).toBe(true)
    expect(confirmation.question).toBeNull()
  })
  it('answers an open question with no when another comes', async () => {
    const first = ask(q)
    const second = ask(q)
    confirmation.answer(true)
    expect(await Promise.all([first, second])).toEqual([false, true])
  })
})
