/** Has the browser keep the page at the net, so that it opens without a connection. True once it is kept. */
export async function keepPage(): Promise<boolean> {
  if (!('serviceWorker' in navigator)) return false
  try {
    await navigator.serviceWorker.register('/net-worker.js', { scope: '/net' })
    const { active } = await navigator.serviceWorker.ready
    if (!active) return false
    const paths = performance
      .getEntriesByType('resource')
      .map((e) => new URL(e.name))
      .filter((u) => u.origin === location.origin && u.pathname.startsWith('/assets/'))
      .map((u) => u.pathname)
    const channel = new MessageChannel()
    const kept = new Promise<boolean>((done) => (channel.port1.onmessage = (e) => done(e.data === true)))
    active.postMessage({ keep: [...new Set(paths)] }, [channel.port2])
    return await kept
  } catch {
    return false // the page works all the same, as long as it is open
  }
}

/** Something small that was fetched, kept for when it can't be. */
export async function orKept<T>(key: string, fetch: () => Promise<T>): Promise<T | null> {
  try {
    const got = await fetch()
    try {
      localStorage.setItem(key, JSON.stringify(got))
    } catch {
      // no room: it is fetched again next time
    }
    return got
  } catch {
    try {
      return JSON.parse(localStorage.getItem(key) ?? 'null') as T | null
    } catch {
      return null
    }
  }
}
