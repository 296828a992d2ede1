/** Light or dark: the system's choice unless the person has made one on this device. */

export type Theme = 'system' | 'light' | 'dark'
const KEY = 'netreel.theme'

class Themes {
  #theme = $state<Theme>('system')
  #turns = $state(0)

  constructor() {
    globalThis.matchMedia?.('(prefers-color-scheme: dark)').addEventListener('change', () => this.#turns++)
  }

  /** Read by what paints by itself, to be painted anew when the colours change. */
  get colours(): string {
    return `${this.#theme} ${this.#turns}`
  }

  get theme(): Theme {
    return this.#theme
  }

  start(): void {
    const kept = read()
    if (kept === 'light' || kept === 'dark') this.set(kept)
  }

  set(theme: Theme): void {
    this.#theme = theme
    if (theme === 'system') delete document.documentElement.dataset.theme
    else document.documentElement.dataset.theme = theme
    try {
      if (theme === 'system') localStorage.removeItem(KEY)
      else localStorage.setItem(KEY, theme)
    } catch {
      // Storage may be switched off: the choice holds until the page is closed.
    }
  }
}

function read(): string | null {
  try {
    return localStorage.getItem(KEY)
  } catch {
    return null
  }
}

export const themes = new Themes()
