import type { Attachment } from 'svelte/attachments'
import { Turns } from '../state/turns'

// A browser keeps six connections to a server, and a poster that is not made yet holds one until it is: more at once
// and the clip itself would wait behind them.
const turns = new Turns(2)

/**
 * Fetches a ball's poster into an `img` once it is near the window and its turn has come. One that is scrolled away before
 * that waits no longer, so that what is in sight comes first.
 */
export function inTurn(src: string): Attachment<HTMLImageElement> {
  return (img) => {
    let waits = false
    let end = () => {}
    const begin = () => {
      near.disconnect()
      img.src = src
    }
    const near = new IntersectionObserver(
      (entries) => {
        const here = entries.at(-1)!.isIntersecting
        if (here === waits) return
        waits = here
        if (here) end = turns.take(begin)
        else end()
      },
      { rootMargin: '200px' },
    )
    near.observe(img)
    // Browsers draw a torn page where a picture is not there yet, or never comes; the dark ground says enough.
    img.style.visibility = 'hidden'
    const over = (e: Event) => {
      if (e.type === 'load') img.style.visibility = ''
      end()
    }
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
