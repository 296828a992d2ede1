/**
 * Where the page is. Links are plain <a href={href(...)}>; a click on one of ours is taken over here. Pages may ask
 * to be consulted before they are left (unsaved changes).
 */
import { href, pageKey, parse, type Route } from '../routes'

/** Answers whether the page may be left; may ask the person first. */
export type Guard = () => boolean | Promise<boolean>

class Router {
  #route = $state.raw<Route>({ name: 'nowhere' })
  #search = $state('')
  #query = $derived(new URLSearchParams(this.#search))
  #guards = new Set<Guard>()
  #index = 0
  #returning = false

  get route(): Route {
    return this.#route
  }

  /** The query of the address. Never change it: use setQuery. */
  get query(): URLSearchParams {
    return this.#query
  }

  /** The present address with its query, to come back to. */
  get address(): string {
    return href(this.#route) + this.#search
  }

  /** Starts listening. Returns the way to stop. */
  start(): () => void {
    this.#index = (history.state as { index?: number } | null)?.index ?? 0
    history.replaceState({ index: this.#index }, '')
    this.#read()
    const unload = (e: BeforeUnloadEvent) => {
      if (this.#guards.size > 0) e.preventDefault()
    }
    addEventListener('popstate', this.#pop)
    addEventListener('beforeunload', unload)
    document.addEventListener('click', this.#click)
    return () => {
      removeEventListener('popstate', this.#pop)
      removeEventListener('beforeunload', unload)
      document.removeEventListener('click', this.#click)
    }
  }

  /** Goes to a route or an address of this page. */
  async go(to: Route | string, options: { replace?: boolean; force?: boolean } = {}): Promise<void> {
    const url = typeof to === 'string' ? to : href(to)
    if (!options.force && this.#leads(url) && !(await this.#mayLeave())) return
    if (options.force) this.#guards.clear()
    this.#write(url, options.replace ?? false)
    this.#read()
  }

  /** Changes the query alone; the page stays and focus does not move. */
  setQuery(query: URLSearchParams, replace = true): void {
    const text = query.toString()
    this.#write(location.pathname + (text ? `?${text}` : ''), replace)
    this.#search = location.search
  }

  /** Consult `guard` before this page is left, until the returned function is called. */
  guard(guard: Guard): () => void {
    this.#guards.add(guard)
    return () => this.#guards.delete(guard)
  }

  #write(url: string, replace: boolean): void {
    if (replace) history.replaceState({ index: this.#index }, '', url)
    else history.pushState({ index: ++this.#index }, '', url)
  }

  #read(): void {
    this.#route = parse(location.pathname)
    this.#search = location.search
  }

  /** Whether an address is another page, not the same with another query or ball. */
  #leads(url: string): boolean {
    return pageKey(parse(new URL(url, location.origin).pathname)) !== pageKey(this.#route)
  }

  async #mayLeave(): Promise<boolean> {
    for (const g of [...this.#guards]) {
      if (!(await g())) return false
    }
    this.#guards.clear()
    return true
  }

  #pop = async (e: PopStateEvent) => {
    if (this.#returning) {
      this.#returning = false
      return
    }
    const to = (e.state as { index?: number } | null)?.index ?? 0
    if (this.#guards.size > 0 && this.#leads(location.pathname)) {
      // The address has moved already: move it back, ask, and then go there again.
      const by = to - this.#index
      this.#returning = true
      history.go(-by)
      if (!(await this.#mayLeave())) return
      history.go(by)
      return
    }
    this.#index = to
    this.#read()
  }

  #click = (e: MouseEvent) => {
    if (e.defaultPrevented || e.button !== 0 || e.metaKey || e.ctrlKey || e.shiftKey || e.altKey) return
    const a = (e.target as Element | null)?.closest('a')
    const href = a?.getAttribute('href') // of links in drawings too, which have no address of their own
    if (!a || href == null || a.hasAttribute('target') || a.hasAttribute('download')) return
    const to = new URL(href, location.href)
    if (to.origin !== location.origin || to.pathname.startsWith('/api/') || parse(to.pathname).name === 'nowhere') return
    if (to.hash && to.pathname === location.pathname) return
    e.preventDefault()
    void this.go(to.pathname + to.search)
  }
}

export const router = new Router()
export { href, sideBySideHref } from '../routes'
