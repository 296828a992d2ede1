import { afterEach, describe, expect, it, vi } from 'vitest'
import { call, fillPath, onReach, type Reach } from './client'
import { ApiError, fieldError, wordsOf } from './error'

function answer(status: number, body: unknown, type = 'application/json'): void {
  const text = body === undefined ? null : typeof body === 'string' ? body : JSON.stringify(body)
  vi.stubGlobal('fetch', vi.fn(async () => new Response(text, { status, headers: { 'Content-Type': type } })))
}
const failing = async (p: Promise<unknown>): Promise<ApiError> => {
  const err = await p.then(
    () => null,
    (e: unknown) => e,
  )
  expect(err).toBeInstanceOf(ApiError)
  return err as ApiError
}
afterEach(() => void vi.unstubAllGlobals())

describe('call', () => {
  it('sends JSON to the filled path and gives the answer', async () => {
    answer(200, { id: 7 })
    expect(await call('put', '/api/sessions/{id}', { path: { id: 7 }, body: { title: 'T', held_on: '2026-01-31' } })).toEqual({ id: 7 })
    const [url, init] = vi.mocked(fetch).mock.calls[0]!
    expect(url).toBe('/api/sessions/7')
    expect(init).toMatchObject({ method: 'PUT', body: '{"title":"T","held_on":"2026-01-31"}' })
    expect(new Headers(init!.headers).get('Content-Type')).toBe('application/json')
  })
  it('gives nothing for 204', async () => {
    answer(204, undefined)
    expect(await call('post', '/api/sign-out')).toBeUndefined()
  })
  it('leaves undefined out of the query', async () => {
    answer(200, {})
    await call('get', '/api/vocabulary', { query: { edition: undefined } })
    await call('get', '/api/find', { query: new URLSearchParams('shot=pull,cut') })
    expect(vi.mocked(fetch).mock.calls.map((c) => c[0])).toEqual(['/api/vocabulary', '/api/find?shot=pull%2Ccut'])
  })
  it('turns a problem (RFC 9457) into an ApiError with the reason of each field', async () => {
    const body = {
      type: 'about:blank', title: 'Invalid', status: 422, detail: 'Mend the marked places.', request_id: 'r1',
      errors: [{ field: 'title', reason: 'is missing' }],
    }
    answer(422, body, 'application/problem+json')
    const err = await failing(call('get', '/api/me'))
    expect(err).toMatchObject({ status: 422, message: 'Mend the marked places.', requestId: 'r1', passing: false })
    expect(fieldError(err, 'title')).toBe('is missing')
    expect(fieldError(err, 'place')).toBe('')
  })
  it('has words even when the server gives none', async () => {
    answer(500, '<h1>oops</h1>', 'text/html')
    const err = await failing(call('get', '/api/me'))
    expect(err.message).toContain('500')
    expect(err.passing).toBe(true)
    expect(wordsOf('odd')).not.toBe('')
  })
})

describe('reaching the server', () => {
  it.each<[string, () => void, Reach]>([
    ['no network', () => vi.stubGlobal('fetch', vi.fn(async () => { throw new TypeError('failed') })), 'unreachable'],
    ['a proxy without a server', () => answer(502, 'bad gateway', 'text/html'), 'unreachable'],
    ['an answer cut short', () => answer(200, '{"id":'), 'reached'],
    ['signed out', () => answer(401, { detail: 'Sign in.' }), 'signed-out'],
    ['found nothing', () => answer(404, { detail: 'It is gone.' }), 'reached'],
  ])('is told: %s', async (name, arrange, reach) => {
    arrange()
    const told: Reach[] = []
    const stop = onReach((r) => told.push(r))
    const err = await failing(call('get', '/api/me'))
    stop()
    expect(told).toEqual([reach])
    expect(err.offline).toBe(reach === 'unreachable' || name === 'an answer cut short')
  })
  it('passes on the abort of the caller as it is', async () => {
    const gone = new AbortController()
    vi.stubGlobal('fetch', vi.fn(async () => { throw new DOMException('gone', 'AbortError') }))
    gone.abort()
    await expect(call('get', '/api/me', { signal: gone.signal })).rejects.toMatchObject({ name: 'AbortError' })
  })
})

describe('fillPath', () => {
  it('escapes, and refuses a missing part', () => {
    expect(fillPath('/api/links/{secret}', { secret: 'a/b?c' })).toBe('/api/links/a%2Fb%3Fc')
    expect(() => fillPath('/api/links/{secret}', {})).toThrow('secret')
  })
})
