/** A reel being watched: which ball, going on or staying, and whose words are shown. */
import type { Playlist, PlaylistItem } from '../api/types'
import { measuredOn } from './pair-events'
import { keptOn, showing } from './player-ink'
import { Player } from './player.svelte'
import { clipOf, due, wordsOf } from './reel-watch'

const KEPT = 'netreel.watch.words'

export class Watch {
  list = $state.raw<Playlist | null>(null)
  problem = $state.raw<unknown>(null)
  at = $state(0)
  /** After a ball the next one comes; else the ball is repeated. */
  goOn = $state(true)
  /** The last ball is over. */
  over = $state(false)
  words = $state(localStorage.getItem(KEPT) !== 'off')
  camera = $state<string | null>(null)
  readonly player = new Player()

  readonly items = $derived<readonly PlaylistItem[]>(this.list?.items ?? [])
  readonly item = $derived(this.items[this.at])
  readonly clip = $derived(clipOf(this.item, this.camera))
  readonly next = $derived(clipOf(this.items[this.at + 1], this.camera))
  readonly #all = $derived(wordsOf(this.item?.ball.seen ?? []))
  readonly due = $derived(this.words && this.player.track ? due(this.#all, this.player.session) : [])
  readonly drawings = $derived.by(() => {
    const { track, frame, playing, speed } = this.player
    if (!this.words || !track || !this.clip) return []
    return showing(keptOn(this.item?.ball.seen ?? [], this.clip.recording_id), track, frame, playing, speed)
  })

  /** What was measured, from contact on. */
  readonly measures = $derived.by(() => {
    const ball = this.item?.ball
    if (!ball || !this.words || (ball.contact_us !== null && this.player.session < ball.contact_us)) return []
    return measuredOn(ball, this.clip?.recording_id)
  })

  constructor(private readonly fetch: () => Promise<Playlist>) {
    this.player.loop = false
  }

  /** Fetches the reel. The ball that is being watched stays where it is until it is left, even if it is not in the reel any more. */
  async load(): Promise<void> {
    try {
      const list = await this.fetch()
      const watched = this.item // by now
      let at = list.items.findIndex((i) => i.ball.id === watched?.ball.id)
      if (at < 0 && watched) {
        at = Math.min(this.at, list.items.length)
        list.items = list.items.toSpliced(at, 0, watched)
      }
      this.list = list
      this.problem = null
      this.at = Math.max(0, at)
    } catch (err) {
      if (!this.list) this.problem = err // what is being watched goes on
    }
  }

  /** Shows a ball from its beginning, playing. */
  go(to: number): void {
    if (to < 0 || to >= this.items.length) return
    this.over = false
    if (to === this.at) {
      this.player.seek(this.player.track?.first ?? 0)
      this.player.play()
      return
    }
    this.at = to
    this.player.playing = true // the screen follows when the ball's picture is there
  }

  move(by: 1 | -1): void {
    this.go(this.at + by)
  }

  /** Plays or pauses; after the end it begins anew. */
  toggle(): void {
    if (this.over) this.go(0)
    else this.player.toggle()
  }

  step(n: number): void {
    this.over = false
    this.player.step(n)
  }

  /** Stops at contact, where something was struck. */
  contact(): void {
    const at = this.item?.ball.contact_us
    if (at == null) return
    this.over = false
    this.player.pause()
    this.player.seekSession(at)
  }

  /** The ball has come to its end. */
  ended(): void {
    if (!this.goOn) return
    if (this.at + 1 < this.items.length) this.go(this.at + 1)
    else {
      this.player.pause()
      this.over = true
    }
  }

  repeat(on: boolean): void {
    this.goOn = !on
    this.player.loop = on
  }

  showWords(on: boolean): void {
    this.words = on
    localStorage.setItem(KEPT, on ? 'on' : 'off')
  }
}
