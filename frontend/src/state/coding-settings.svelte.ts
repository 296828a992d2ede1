/** How a person likes the coding page, kept on this device. */

const KEY = 'netreel.coding'

const defaults = {
  muted: false,
  loop: true,
  /** Show only my own words. */
  hideOthers: false,
  /** Go to the next ball when the last group of the focus has its term. */
  goOn: false,
  /** Play stops where there is a drawing. */
  stopAtDrawings: false,
  /** Single keys act. Somebody who speaks to the page, or bumps keys, may switch them off. */
  keys: true,
}
type Settings = typeof defaults
export type SettingName = keyof Settings

class CodingSettings {
  #now = $state<Settings>(read())

  get now(): Readonly<Settings> {
    return this.#now
  }

  set(name: SettingName, value: boolean): void {
    this.#now[name] = value
    try {
      localStorage.setItem(KEY, JSON.stringify(this.#now))
    } catch {
      // Storage may be switched off: the choice holds until the page is closed.
    }
  }

  toggle(name: SettingName): void {
    this.set(name, !this.#now[name])
  }
}

function read(): Settings {
  const now = { ...defaults }
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? '{}') as Record<string, unknown>
    for (const name of Object.keys(defaults) as SettingName[]) {
      const value = kept[name]
      if (typeof value === 'boolean') now[name] = value
    }
  } catch {
    // Nothing kept, or nothing readable.
  }
  return now
}

export const settings = new CodingSettings()
