import type { ProblemBody } from './types'

/**
 * Why a call came to nothing, in words for the person. `status` is 0 when the server was not reached at all;
 * `fields` has the reason for each field of the form, by its name in the request ("groups.2.name").
 */
export class ApiError extends Error {
  readonly status: number
  readonly fields: Readonly<Record<string, string>>
  readonly requestId: string

  constructor(status: number, detail: string, fields: Record<string, string> = {}, requestId = '') {
    super(detail)
    this.name = 'ApiError'
    this.status = status
    this.fields = fields
    this.requestId = requestId
  }

  /** The server was not reached: trying again later may well work. */
  get offline(): boolean {
    return this.status === 0
  }

  /** Nobody is signed in any more. */
  get signedOut(): boolean {
    return this.status === 401
  }

  get notFound(): boolean {
    return this.status === 404
  }

  /** Somebody else changed the thing in between: fetch it again. */
  get conflict(): boolean {
    return this.status === 409
  }

  /** Worth another try without a change: no connection, too many requests, or trouble on the server. */
  get passing(): boolean {
    return this.offline || this.status === 429 || this.status >= 500
  }

  static fromProblem(status: number, body: Partial<ProblemBody>): ApiError {
    const fields: Record<string, string> = {}
    for (const e of body.errors ?? []) fields[e.field] = e.reason
    const detail = body.detail || body.title || `The server answered ${status} and gave no reason.`
    return new ApiError(status, detail, fields, body.request_id ?? '')
  }

  static unreachable(): ApiError {
    return new ApiError(0, 'The server can’t be reached. Check the connection; what you did here is not lost.')
  }
}

/** Any thrown value as words for a person. */
export function wordsOf(err: unknown): string {
  if (err instanceof Error) return err.message
  return 'Something went wrong. Load the page again; if it happens again, tell whoever runs the server.'
}

/** The reason a field was refused, '' when it was not. */
export function fieldError(err: unknown, field: string): string {
  return err instanceof ApiError ? (err.fields[field] ?? '') : ''
}
