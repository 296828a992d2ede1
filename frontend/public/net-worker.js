/*
 * Keeps the page at the net in the phone, so that it opens without a connection. It looks after /net alone: every
 * other page and every call of the API goes to the server as if it were not there. The page itself is asked for first
 * and kept only for when the server can't be reached; its assets bear a hash of what is in them, so a kept one is
 * never an old one.
 */
const SHELF = 'netreel-net'
const PATIENCE = 4_000

self.addEventListener('install', (e) => e.waitUntil(self.skipWaiting()))
self.addEventListener('activate', (e) => e.waitUntil(self.clients.claim()))

self.addEventListener('message', (e) => {
  if (!Array.isArray(e.data?.keep)) return
  e.waitUntil(
    keep(e.data.keep).then(
      (kept) => e.ports[0]?.postMessage(kept),
      () => e.ports[0]?.postMessage(false),
    ),
  )
})

self.addEventListener('fetch', (e) => {
  const url = new URL(e.request.url)
  if (e.request.method !== 'GET' || url.origin !== self.location.origin) return
  if (e.request.mode === 'navigate' && url.pathname === '/net') e.respondWith(page(e.request))
  else if (isAsset(url.pathname)) e.respondWith(asset(e.request))
})

const isAsset = (path) => path.startsWith('/assets/') || path === '/icon.svg' || path === '/net.webmanifest'

/** The server's page, or the kept one when there is none. */
async function page(request) {
  const shelf = await caches.open(SHELF)
  try {
    const answer = await fetch(request, { signal: AbortSignal.timeout(PATIENCE) })
    if (answer.ok) return answer
  } catch {
    // not reached: the kept page
  }
  return (await shelf.match('/net')) ?? fetch(request)
}

async function asset(request) {
  const shelf = await caches.open(SHELF)
  return (await shelf.match(request)) ?? fetch(request)
}

/** Keeps the page with the assets that it was seen to need; whether it now opens without a connection. */
async function keep(paths) {
  const shelf = await caches.open(SHELF)
  const answer = await fetch('/net', { headers: { Accept: 'text/html' }, cache: 'no-store' })
  if (!answer.ok) return false
  const text = await answer.clone().text()
  const named = [...text.matchAll(/"(\/assets\/[^"]+)"/g)].map((m) => m[1])
  // A newer page than the one that asks: its parts are not known yet. It is kept when it has been opened.
  if (named.some((n) => !paths.includes(n))) return (await shelf.match('/net')) !== undefined
  const wanted = new Set([...paths, '/icon.svg', '/net.webmanifest'])
  for (const path of wanted) if (!(await shelf.match(path))) await shelf.add(path)
  await shelf.put('/net', answer)
  for (const request of await shelf.keys()) {
    const { pathname } = new URL(request.url)
    if (pathname !== '/net' && !wanted.has(pathname)) await shelf.delete(request)
  }
  return true
}
