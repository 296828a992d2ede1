/** What tests of clips need instead of a browser. */
import type { Screen } from './player.svelte'

/** A screen that seeks and plays only when told to. */
export class FakeScreen implements Screen {
  playbackRate = 1
  muted = false
  running = false
  sought: number[] = []
  refuse: 'sound' | 'always' | null = null
  #at = 0

  get currentTime(): number {
    return this.#at
  }

  set currentTime(s: number) {
    this.#at = s
    this.sought.push(s)
  }

  play(): Promise<void> {
    if (this.refuse === 'always' || (this.refuse === 'sound' && !this.muted)) {
      return Promise.reject(Object.assign(new Error('no'), { name: 'NotAllowedError' }))
    }
    this.running = true
    return Promise.resolve()
  }

  pause(): void {
    this.running = false
  }
}
