import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'

// The little of a window that the router touches: an address bar with a history, whose moves are heard a moment later.
class FakeWindow {
  entries: { url: string; state: unknown }[] = [{ url: '/', state: null }]
  at = 0
  heard = new Map<string, (e: unknown) => void>()

  get location() {
    const url = new URL(this.entries[this.at]!.url, 'http://nets.example')
    return { origin: url.origin, pathname: url.pathname, search: url.search }
  }
  history = {
    window: this as FakeWindow,
    get state() {
      return this.window.entries[this.window.at]!.state
    },
    pushState(state: unknown, _: string, url: string) {
      const w = this.window
      w.entries = [...w.entries.slice(0, ++w.at), { url, state }]
    },
    replaceState(state: unknown, _: string, url?: string) {
      const w = this.window
      w.entries[w.at] = { url: url ?? w.entries[w.at]!.url, state }
    },
    go(by: number) {
      queueMicrotask(() => this.window.travel(by))
    },
  }
  /** As a press of the browser's own buttons. */
  travel(by: number) {
    this.at += by
    this.heard.get('popstate')?.({ state: this.history.state })
  }
}

let w: FakeWindow
let router: typeof import('./router.svelte').router
let stop: () => void

const settle = () => new Promise<void>((done) => setImmediate(done))

beforeEach(async () => {
  w = new FakeWindow()
  const listen = (type: string, fn: (e: unknown) => void) => void w.heard.set(type, fn)
  vi.stubGlobal('history', w.history)
  vi.stubGlobal('document', { addEventListener: listen, removeEventListener: () => {} })
  vi.stubGlobal('addEventListener', listen)
  vi.stubGlobal('removeEventListener', () => {})
  Object.defineProperty(globalThis, 'location', { get: () => w.location, configurable: true })
  vi.resetModules()
  ;({ router } = await import('./router.svelte'))
  stop = router.start()
})
afterEach(() => {
  stop()
  vi.unstubAllGlobals()
  Reflect.deleteProperty(globalThis, 'location')
})

describe('the router', () => {
  it('goes to routes and back', async () => {
    await router.go({ name: 'session', id: 7 })
    await router.go('/find?shot=pull')
    expect(router.route).toEqual({ name: 'find' })
    expect(router.query.get('shot')).toBe('pull')
    expect(router.address).toBe('/find?shot=pull')
    w.travel(-1)
    expect(router.route).toEqual({ name: 'session', id: 7 })
    w.travel(-1)
    expect(router.route).toEqual({ name: 'sessions' })
  })
  it('replaces where asked', async () => {
    await router.go('/find')
    await router.go('/reels', { replace: true })
    expect(w.entries.map((e) => e.url)).toEqual(['/', '/reels'])
  })
  it('changes the query in place, or as a step', async () => {
    await router.go('/find')
    router.setQuery(new URLSearchParams('shot=cut'))
    expect(w.entries.map((e) => e.url)).toEqual(['/', '/find?shot=cut'])
    router.setQuery(new URLSearchParams(), false)
    expect(w.entries.map((e) => e.url)).toEqual(['/', '/find?shot=cut', '/find'])
    w.travel(-1)
    expect(router.query.get('shot')).toBe('cut')
  })
})

describe('a guard', () => {
  it('keeps the page when the person stays, and is asked again', async () => {
    await router.go('/vocabulary')
    const guard = vi.fn(() => false)
    router.guard(guard)
    await router.go('/players')
    await router.go('/people')
    expect(router.route).toEqual({ name: 'vocabulary' })
    expect(guard).toHaveBeenCalledTimes(2)
  })
  it('lets go when the person leaves, once', async () => {
    await router.go('/vocabulary')
    const guard = vi.fn(async () => true)
    router.guard(guard)
    await router.go('/players')
    await router.go('/people')
    expect(router.route).toEqual({ name: 'people' })
    expect(guard).toHaveBeenCalledTimes(1)
  })
  it('is asked before the back button leaves; the address stays meanwhile', async () => {
    await router.go('/vocabulary')
    let answer: (yes: boolean) => void = () => {}
    router.guard(() => new Promise((resolve) => (answer = resolve)))
    w.travel(-1)
    await settle()
    expect([w.location.pathname, router.route.name]).toEqual(['/vocabulary', 'vocabulary'])
    answer(true)
    await settle()
    expect([w.location.pathname, router.route.name]).toEqual(['/', 'sessions'])
  })
  it('keeps the page and its address when the back button is taken back', async () => {
    await router.go('/vocabulary')
    router.guard(() => false)
    w.travel(-1)
    await settle()
    expect([w.location.pathname, router.route.name]).toEqual(['/vocabulary', 'vocabulary'])
  })
  it('is not asked for another query of the same page, nor with force', async () => {
    await router.go('/vocabulary')
    const guard = vi.fn(() => false)
    router.guard(guard)
    router.setQuery(new URLSearchParams('group=shot'), false)
    w.travel(-1)
    await router.go('/sign-in', { force: true })
    expect(guard).not.toHaveBeenCalled()
    expect(router.route).toEqual({ name: 'sign-in' })
  })
})
