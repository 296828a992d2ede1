// Reads WebVTT by an independent parser and validator, for tests in Go to look
// at: a JSON list of files comes in, for each its cues (in seconds, their text
// without markup) and what is wrong with it goes out.
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import webvtt from 'webvtt-parser'

const entities = createRequire(import.meta.url)('webvtt-parser/html-entities.json')
const textOf = (node) => (node.type === 'text' ? node.value : node.children.map(textOf).join(''))
const files = JSON.parse(readFileSync(0, 'utf8'))
const read = files.map((file) => {
  const { cues, errors } = new webvtt.WebVTTParser(entities).parse(file)
  return { cues: cues.map((c) => ({ start: c.startTime, end: c.endTime, text: textOf(c.tree) })), errors }
})
process.stdout.write(JSON.stringify(read))
