/** How balls and blocks felt to who batted: what was said, and saying it in a tap. */
import * as api from '../api/lookback'
import type { Column, PlaylistItem } from '../api/types'
import { toasts } from './toasts.svelte'

export type FeltOf = { ball_id: number } | { block_id: number }

const keyOf = (of: FeltOf) => ('ball_id' in of ? `ball ${of.ball_id}` : `block ${of.block_id}`)

/** The words with one more or one less. */
export const flipped = (words: readonly string[], word: string): string[] =>
  words.includes(word) ? words.filter((w) => w !== word) : [...words, word]

/** Whether the ball at a place in a reel is the last there of its block: then the block as a whole is asked for. */
export function endsBlock(items: readonly PlaylistItem[], at: number): boolean {
  const block = items[at]?.ball.block_id
  return block != null && !items.slice(at + 1).some((i) => i.ball.block_id === block)
}

export class FeltDesk {
  words = $state.raw<readonly Column[]>([])
  #said = $state<Record<string, readonly string[]>>({})
  /** Who pressed the last word of a ball at the net. */
  #pressed = $state<Record<string, string>>({})
  /** Sends go one after the other, so that the last tap is the last word. */
  #last: Promise<unknown> = Promise.resolve()

  /** Fetches what was said of the balls of a reel and their blocks. Without it nothing is asked. */
  async load(items: readonly PlaylistItem[]): Promise<void> {
    const balls = items.map((i) => i.ball.id)
    const blocks = [...new Set(items.flatMap((i) => i.ball.block_id ?? []))]
    try {
      const felt = await api.felt(balls.slice(0, 1000), blocks.slice(0, 100))
      for (const s of felt.said) {
        const key = keyOf(s.ball_id != null ? { ball_id: s.ball_id } : { block_id: s.block_id! })
        this.#said[key] = s.words
        if (s.at_net) this.#pressed[key] = s.by
      }
      this.words = felt.words
    } catch {
      // The reel is watched all the same.
    }
  }

  of(of: FeltOf): readonly string[] {
    return this.#said[keyOf(of)] ?? []
  }

  /** Who pressed it at the net; '' once somebody has spoken of it since. */
  pressedBy(of: FeltOf): string {
    return this.of(of).length > 0 ? (this.#pressed[keyOf(of)] ?? '') : ''
  }

  /** Says a word, or takes it back; shown at once, and taken back when it could not be kept. */
  flip(of: FeltOf, word: string): Promise<void> {
    const key = keyOf(of)
    const before = this.of(of)
    const now = flipped(before, word)
    const pressed = this.#pressed[key] ?? ''
    this.#said[key] = now
    this.#pressed[key] = ''
    const sent = this.#last.then(() => api.sayFelt(of, now)).then(
      () => {},
      (err: unknown) => {
        if (this.#said[key] === now) [this.#said[key], this.#pressed[key]] = [before, pressed]
        toasts.fail(err)
      },
    )
    this.#last = sent
    return sent
  }
}
