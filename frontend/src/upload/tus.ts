/** The carrier that speaks tus 1.0 (https://tus.io/protocols/resumable-upload), by tus-js-client. */
import { defaultOptions, DetailedError, Upload, type HttpResponse } from 'tus-js-client'
import { TUS_ENDPOINT } from '../api/footage'
import type { Cargo, Carrier, CarrierEvents } from './carrier'

// One request carries so much: small enough that a proxy that buffers whole requests loses little with a broken line.
const CHUNK = 16 * 1024 * 1024
// A short hiccup is ridden out here; a longer one is the queue's to wait for.
const RETRIES = [0, 1000, 3000]

/** The same file for the same session: an upload of it may be gone on with after the page was loaded anew. */
export function fingerprint(file: Pick<File, 'name' | 'size' | 'lastModified'>, session: number): string {
  return ['netreel', session, file.size, file.lastModified, file.name].join('/')
}

/** The id of an upload in its address. */
export function idOf(url: string): string {
  return decodeURIComponent(new URL(url, 'http://here').pathname.split('/').filter(Boolean).at(-1) ?? '')
}

/** What a refusal says to the person: a problem's detail, or the protocol's "ERR_NAME: words". */
export function wordsOfAnswer(status: number, body: string): string {
  try {
    const detail: unknown = JSON.parse(body).detail
    if (typeof detail === 'string' && detail) return detail
  } catch {
    // no problem document
  }
  const words = body.trim().replace(/^ERR_[A-Z0-9_]+:\s*/, '')
  if (words && words.length < 400 && !words.startsWith('<')) return words.charAt(0).toUpperCase() + words.slice(1)
  return `The server refused the file (${status}) and gave no reason. Try again.`
}

/** An answer to the question how far an upload has come that says neither where it is nor that it is gone. */
class NoOffset extends Error {
  readonly answer: HttpResponse
  constructor(answer: HttpResponse) {
    super(`no offset: ${answer.getStatus()}`)
    this.answer = answer
  }
}

// tus-js-client takes any refusal of that question as "gone" and begins the file anew. A server that is only starting
// up, or a sign-in that has ended, must not cost what has arrived.
function keepWhatArrived(method: string, answer: HttpResponse): void {
  const status = answer.getStatus()
  if (method === 'HEAD' && status >= 400 && ![404, 410, 423].includes(status)) throw new NoOffset(answer)
}

/** 507: the disk is full, which waiting does not mend. */
const passes = (status: number): boolean => [409, 423, 429].includes(status) || (status >= 500 && status !== 507)

export function reasonOf(err: Error | DetailedError): [words: string, passing: boolean] {
  const detailed = err instanceof DetailedError ? err : null
  const cause = detailed?.causingError ?? err
  const answer = cause instanceof NoOffset ? cause.answer : detailed?.originalResponse
  if (answer) {
    if (answer.getStatus() === 401) return ['You have been signed out. Sign in, then go on here; nothing is lost.', false]
    // A proxy that can't find the server behind it is as good as no connection.
    if (answer.getStatus() === 502 || answer.getStatus() === 504) return [LOST, true]
    return [wordsOfAnswer(answer.getStatus(), answer.getBody()), passes(answer.getStatus())]
  }
  if (cause instanceof DOMException || cause.name === 'NotReadableError' || !detailed) {
    return ['The file can’t be read any more. Has it been moved or changed? Pick it again.', false]
  }
  return [LOST, true]
}
const LOST = 'The connection was lost. The upload goes on by itself when it is back.'

export function tusCarrier(cargo: Cargo, events: CarrierEvents): Carrier {
  let looked = false
  let halted = false
  const upload = new Upload(cargo.file, {
    endpoint: TUS_ENDPOINT,
    uploadUrl: cargo.tusId ? TUS_ENDPOINT + encodeURIComponent(cargo.tusId) : undefined,
    chunkSize: CHUNK,
    retryDelays: RETRIES,
    metadata: { filename: cargo.file.name, session: String(cargo.session), camera: cargo.camera },
    fingerprint: async () => fingerprint(cargo.file, cargo.session),
    storeFingerprintForResuming: true,
    removeFingerprintOnSuccess: true,
    onUploadUrlAvailable: () => {
      if (upload.url) events.onAddress(idOf(upload.url))
    },
    onProgress: (sent) => events.onProgress(sent),
    onSuccess: () => events.onDone(),
    onAfterResponse: (req, res) => keepWhatArrived(req.getMethod(), res),
    onShouldRetry: (err) => !halted && reasonOf(err)[1],
    onError: (err) => {
      if (!halted) events.onStop(...reasonOf(err))
    },
  })

  return {
    async start() {
      halted = false
      if (!looked && !cargo.tusId) {
        const before = await upload.findPreviousUploads().catch(() => [])
        const last = before.filter((u) => u.uploadUrl).sort((a, b) => a.creationTime.localeCompare(b.creationTime)).at(-1)
        if (last) upload.resumeFromPreviousUpload(last)
      }
      looked = true
      if (!halted) upload.start()
    },
    async pause() {
      halted = true
      await upload.abort()
    },
    async discard() {
      halted = true
      await upload.abort()
      const url = upload.url ?? upload.options.uploadUrl
      await forget(cargo)
      if (url) {
        await Upload.terminate(url, { retryDelays: RETRIES }).catch((err: unknown) => {
          const status = err instanceof DetailedError ? err.originalResponse?.getStatus() : undefined
          if (status !== 404 && status !== 410) throw err
        })
      }
    },
  }
}

/** Drops what this browser remembers of uploads of a file. */
async function forget(cargo: Cargo): Promise<void> {
  const storage = defaultOptions.urlStorage
  const kept = await storage.findUploadsByFingerprint(fingerprint(cargo.file, cargo.session)).catch(() => [])
  for (const u of kept) await storage.removeUpload(u.urlStorageKey)
}
