/** The uploads of all sessions: they go on while the person looks at other pages. */
import { untrack } from 'svelte'
import { connection } from '../state/connection.svelte'
import { events } from '../state/events.svelte'
import { tusCarrier } from './tus'
import { SessionUploads, type World } from './upload.svelte'

const world: World = {
  carry: tusCarrier,
  now: () => performance.now(),
  onReturn: (fn) => connection.onReturn(fn),
  after: (ms, fn) => {
    const timer = setTimeout(fn, ms)
    return () => clearTimeout(timer)
  },
  changed: () => events.hear({ topic: 'upload', id: 0 }),
}

class Registry {
  #all = $state.raw<SessionUploads[]>([])

  of(session: number): SessionUploads {
    return untrack(() => {
      let found = this.#all.find((u) => u.session === session)
      if (!found) {
        found = new SessionUploads(session, world)
        this.#all = [...this.#all, found]
      }
      return found
    })
  }

  /** Sessions that have files on their way. */
  readonly moving = $derived(this.#all.filter((u) => u.busy))

  /** Bytes sent and to send, of all that is on its way; for one small sign in the shell. */
  readonly share = $derived.by(() => {
    const files = this.moving.flatMap((u) => u.files.filter((f) => f.moving))
    const all = files.reduce((n, f) => n + f.file.size, 0)
    return { count: files.length, share: all === 0 ? 0 : files.reduce((n, f) => n + f.sent, 0) / all }
  })

  /** Warns before the window is closed on an upload, and keeps a phone awake. Returns the way to stop. */
  start(): () => void {
    const unload = (e: BeforeUnloadEvent) => {
      if (this.moving.length > 0) e.preventDefault()
    }
    addEventListener('beforeunload', unload)
    const stop = $effect.root(() => {
      $effect(() => (this.moving.length > 0 ? stayAwake() : undefined))
    })
    return () => {
      removeEventListener('beforeunload', unload)
      stop()
    }
  }

  /** Lets go of everything: the person has signed out. */
  close(): void {
    untrack(() => {
      for (const u of this.#all) u.close()
      this.#all = []
    })
  }
}

export const registry = new Registry()

/** Asks the device not to sleep until the returned function is called. A device may refuse, and lets go when hidden. */
function stayAwake(): () => void {
  let lock: WakeLockSentinel | null = null
  let over = false
  const take = async () => {
    if (over || document.visibilityState !== 'visible') return
    try {
      lock = (await navigator.wakeLock?.request('screen')) ?? null
      if (over) void lock?.release()
    } catch {
      // refused: low battery, or not over https
    }
  }
  document.addEventListener('visibilitychange', take)
  void take()
  return () => {
    over = true
    document.removeEventListener('visibilitychange', take)
    void lock?.release()
  }
}
