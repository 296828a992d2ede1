import { DetailedError } from 'tus-js-client'
import { describe, expect, it } from 'vitest'
import { fingerprint, idOf, reasonOf, wordsOfAnswer } from './tus'

const refused = (status: number, body = ''): Error =>
  Object.assign(Object.create(DetailedError.prototype) as DetailedError, {
    originalResponse: { getStatus: () => status, getBody: () => body },
    causingError: null,
  })

describe('words of a refusal', () => {
  it.each([
    [415, '{"detail":"That is not a video."}', 'That is not a video.'],
    [507, 'ERR_DISK_FULL: the disk of the server is full\n', 'The disk of the server is full'],
    [500, '<html>oops</html>', 'The server refused the file (500) and gave no reason. Try again.'],
    [400, '', 'The server refused the file (400) and gave no reason. Try again.'],
  ])('%i %s', (status, body, words) => expect(wordsOfAnswer(status, body)).toBe(words))
})

describe('whether to try again', () => {
  it.each([
    [409, true],
    [423, true], // tus 1.0 leaves locking to the server; 423 Locked is RFC 4918, section 11.3
    [502, true],
    [503, true],
    [507, false],
    [404, false],
    [413, false],
    [401, false],
  ])('%i: %s', (status, passing) => expect(reasonOf(refused(status))[1]).toBe(passing))
  it('waits for a lost connection, but not for a file that is gone', () => {
    const lost = Object.assign(Object.create(DetailedError.prototype) as DetailedError, { originalResponse: null, causingError: new Error('net') })
    expect(reasonOf(lost)[1]).toBe(true)
    expect(reasonOf(new DOMException('gone', 'NotReadableError'))[1]).toBe(false)
  })
})

describe('knowing an upload again', () => {
  it('is by file and session', () => {
    const f = { name: 'a.mov', size: 5, lastModified: 9 }
    expect(fingerprint(f, 1)).toBe(fingerprint({ ...f }, 1))
    expect(fingerprint(f, 1)).not.toBe(fingerprint(f, 2))
    expect(fingerprint(f, 1)).not.toBe(fingerprint({ ...f, lastModified: 10 }, 1))
  })
  it.each(['/api/uploads/abc123', 'https://nets.example/api/uploads/abc123', 'https://nets.example/api/uploads/abc123/'])('%s', (url) => {
    expect(idOf(url)).toBe('abc123')
  })
})
