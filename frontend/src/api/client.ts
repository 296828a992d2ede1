/**
 * The page's one way to the server: the only module that fetches. Paths, bodies and answers are checked against the
 * API description by the compiler. Every failure is an ApiError.
 */
import { ApiError } from './error'
import type { paths } from './schema'

type Method = 'get' | 'put' | 'post' | 'patch' | 'delete'
type PathFor<M extends Method> = { [P in keyof paths]: paths[P][M] extends object ? P : never }[keyof paths]
type Json<T> = T extends { content: { 'application/json': infer J } } ? J : undefined
type Answers<O> = O extends { responses: infer R } ? R : never
type AnswerOf<O> =
  Answers<O> extends { 200: infer T } ? Json<T> : Answers<O> extends { 201: infer T } ? Json<T> : undefined
type BodyOf<O> = O extends { requestBody: infer B } ? Json<B> : undefined
type PartOf<O> = O extends { parameters: { path: infer P } } ? P : undefined

interface Common {
  query?: URLSearchParams | Record<string, string | number | undefined>
  signal?: AbortSignal
  /** Let the request outlive the page (small bodies only). */
  keepalive?: boolean
}
type Needs<K extends string, T> = [T] extends [undefined] ? { [k in K]?: undefined } : { [k in K]: T }
type Options<O> = Common & Needs<'body', BodyOf<O>> & Needs<'path', PartOf<O>>
type Arguments<O> = {} extends Options<O> ? [options?: Options<O>] : [options: Options<O>]

export type Reach = 'reached' | 'unreachable' | 'signed-out'
const reachListeners = new Set<(r: Reach) => void>()

/** Be told after each call whether the server was reached and still knows who is signed in. */
export function onReach(fn: (r: Reach) => void): () => void {
  reachListeners.add(fn)
  return () => reachListeners.delete(fn)
}

function tell(r: Reach): void {
  for (const fn of reachListeners) fn(r)
}

/** Fills {name} in a path of the API description, escaped. */
export function fillPath(path: string, parts: Record<string, string | number> = {}): string {
  return path.replace(/\{(\w+)\}/g, (_, name: string) => {
    const value = parts[name]
    if (value === undefined || value === '') throw new Error(`no ${name} for ${path}`)
    return encodeURIComponent(String(value))
  })
}

function withQuery(url: string, query: Common['query']): string {
  if (!query) return url
  const params = query instanceof URLSearchParams ? query : new URLSearchParams()
  if (!(query instanceof URLSearchParams)) {
    for (const [k, v] of Object.entries(query)) if (v !== undefined) params.set(k, String(v))
  }
  const text = params.toString()
  return text ? `${url}?${text}` : url
}

async function failure(response: Response): Promise<ApiError> {
  const type = response.headers.get('Content-Type') ?? ''
  if (type.includes('json')) {
    const body = await response.json().catch(() => ({}))
    return ApiError.fromProblem(response.status, body ?? {})
  }
  return ApiError.fromProblem(response.status, {})
}

async function send(method: string, url: string, init: RequestInit): Promise<Response> {
  let response: Response
  try {
    response = await fetch(url, { ...init, method, credentials: 'same-origin' })
  } catch (err) {
    if (init.signal?.aborted) throw err
    tell('unreachable')
    throw ApiError.unreachable()
  }
  // A proxy that can't find the server behind it.
  if (response.status === 502 || response.status === 504) {
    tell('unreachable')
    throw ApiError.unreachable()
  }
  tell(response.status === 401 ? 'signed-out' : 'reached')
  if (!response.ok) throw await failure(response)
  return response
}

interface Loose extends Common {
  body?: unknown
  path?: Record<string, string | number>
}

async function run(method: string, path: string, o: Loose = {}): Promise<unknown> {
  const headers: Record<string, string> = { Accept: 'application/json, application/problem+json' }
  const init: RequestInit = { headers }
  if (o.signal) init.signal = o.signal
  if (o.keepalive) init.keepalive = true
  if (o.body !== undefined) {
    headers['Content-Type'] = 'application/json'
    init.body = JSON.stringify(o.body)
  }
  const response = await send(method.toUpperCase(), withQuery(fillPath(path, o.path), o.query), init)
  if (response.status === 204) return undefined
  try {
    return await response.json()
  } catch (err) {
    if (o.signal?.aborted) throw err
    throw ApiError.unreachable() // the connection broke inside the answer
  }
}

/**
 * Calls the server: `call('put', '/api/sessions/{id}', { path: { id }, body })`. Resolves to the JSON answer
 * (undefined for 204) and rejects with ApiError, or with the signal's AbortError.
 */
export function call<M extends Method, P extends PathFor<M>>(
  method: M,
  path: P,
  ...rest: Arguments<paths[P][M]>
): Promise<AnswerOf<paths[P][M]>> {
  return run(method, path, rest[0] as Loose | undefined) as Promise<AnswerOf<paths[P][M]>>
}

/** The headers of an address. Rejects with ApiError. */
export async function head(url: string, headers: Record<string, string> = {}): Promise<Headers> {
  return (await send('HEAD', url, { headers })).headers
}

/** A file that the server makes. Rejects with ApiError. */
export async function file(url: string, query?: URLSearchParams): Promise<Blob> {
  const response = await send('GET', withQuery(url, query), { headers: { Accept: '*/*' } })
  return response.blob().catch(() => {
    throw ApiError.unreachable() // the connection broke inside the answer
  })
}
