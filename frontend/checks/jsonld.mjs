// Expands the JSON-LD on standard input, for a test in Go to look at. Nothing
// is fetched: the context of Web Annotations lies beside this file, made of the
// terms that we use and their meaning in the Web Annotation Vocabulary and the
// model's JSON-LD context (W3C Recommendations of 23 February 2017); safe mode
// refuses every term that it does not know.
import { readFileSync } from 'node:fs'
import jsonld from 'jsonld'

const context = JSON.parse(readFileSync(new URL('anno.jsonld', import.meta.url), 'utf8'))
const documentLoader = async (url) => {
  if (url !== 'http://www.w3.org/ns/anno.jsonld') throw new Error(`not to be fetched: ${url}`)
  return { contextUrl: null, documentUrl: url, document: context }
}
const document = JSON.parse(readFileSync(0, 'utf8'))
const expanded = await jsonld.expand(document, { documentLoader, safe: true, base: 'https://nets.example/take-out/' })
const rdf = await jsonld.toRDF(expanded, { format: 'application/n-quads', safe: true })
process.stdout.write(JSON.stringify({ expanded, statements: rdf.trim().split('\n') }))
