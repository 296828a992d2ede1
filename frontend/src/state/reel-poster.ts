/** The picture that stands for a reel: the first of its balls that has one. Asked for once while the page is open. */
import { ball, find } from '../api/balls'
import type { Reel } from '../api/types'
import { clipOf } from './reel-watch'

type Asked = Pick<Reel, 'id' | 'revision' | 'count' | 'question' | 'balls'>

const known = new Map<string, Promise<string | null>>()

async function ask(r: Asked): Promise<string | null> {
  if (r.question !== null) {
    const found = await find(new URLSearchParams(r.question), 0, 1)
    return clipOf(found.items[0], null)?.poster ?? null
  }
  const first = r.balls[0]
  return first ? (clipOf({ ball: await ball(first.ball_id) }, null)?.poster ?? null) : null
}

/** The poster's address; null when there is none to be had. Never rejects. */
export function posterOf(r: Asked): Promise<string | null> {
  const key = `${r.id} ${r.revision} ${r.count}`
  let asked = known.get(key)
  if (!asked) {
    asked = ask(r).catch(() => {
      known.delete(key) // another time perhaps
      return null
    })
    known.set(key, asked)
  }
  return asked
}
