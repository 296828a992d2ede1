// Sends a file to a server by tus-js-client, for a test in Go to look at what
// arrives. An upload of the same file that was broken off is gone on with: its
// address is remembered in a file. Prints the upload's address when all is
// sent.
//
// Use: COOKIE=... node tus.mjs ENDPOINT FILE SESSION REMEMBERED
import { createReadStream } from 'node:fs'
import { basename } from 'node:path'
import tus from 'tus-js-client'

const [endpoint, file, session, remembered] = process.argv.slice(2)
const upload = new tus.Upload(createReadStream(file), {
  endpoint,
  chunkSize: 128 * 1024,
  retryDelays: [0, 0, 0],
  headers: { Cookie: process.env.COOKIE },
  metadata: { filename: basename(file), session, camera: 'side-on' },
  urlStorage: new tus.FileUrlStorage(remembered),
  storeFingerprintForResuming: true,
  onSuccess: () => console.log(upload.url),
  onError: (error) => {
    console.error(String(error))
    process.exitCode = 1
  },
})
const before = await upload.findPreviousUploads()
if (before.length > 0) upload.resumeFromPreviousUpload(before[0])
upload.start()
