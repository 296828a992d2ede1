import type { Attachment } from 'svelte/attachments'
import { Turns } from '../state/turns'

// A browser keeps six connections to a server, and a poster that is not made yet holds one until it is: more at once
// and the clip itself would wait behind them.
const turns = new Turns(2)

/** Fetches a ball's poster into an `img` once it is near the window and its turn has come. */
export function inTurn(src: string): Attachment<HTMLImageElement> {
  return (img) => {
    let end = () => {}
    const near = new IntersectionObserver(
      (entries) => {
        if (!entries.some((e) => e.isIntersecting)) return
        near.disconnect()
        end = turns.take(() => (img.src = src))
      },
      { rootMargin: '200px' },
    )
    near.observe(img)
    const over = () => end()
    img.addEventListener('load', over)
    img.addEventListener('error', over)
    return () => {
      near.disconnect()
      img.removeEventListener('load', over)
      img.removeEventListener('error', over)
      img.removeAttribute('src')
      end()
    }
  }
}
