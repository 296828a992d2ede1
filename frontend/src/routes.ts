/** The page's addresses: pure, both ways. */

export type Route =
  | { name: 'sessions' }
  | { name: 'session'; id: number }
  | { name: 'split'; id: number }
  | { name: 'code'; id: number; ball?: number }
  | { name: 'calibrate'; id: number }
  | { name: 'second-looks'; id: number }
  | { name: 'second-look'; id: number }
  | { name: 'agreement'; id?: number }
  | { name: 'look-back'; id: number }
  | { name: 'measures'; id: number }
  | { name: 'player-measures'; id: number }
  | { name: 'find' }
  | { name: 'compare' }
  | { name: 'side-by-side' }
  | { name: 'reels' }
  | { name: 'reel'; id: number }
  | { name: 'watch'; id: number }
  | { name: 'shared'; secret: string }
  | { name: 'plans' }
  | { name: 'plan'; id: number }
  | { name: 'card'; id: number }
  | { name: 'load' }
  | { name: 'net' }
  | { name: 'players' }
  | { name: 'progress'; id: number }
  | { name: 'people' }
  | { name: 'vocabulary' }
  | { name: 'join'; secret: string }
  | { name: 'sign-in' }
  | { name: 'nowhere' }

export type RouteName = Route['name']

const id = '([1-9]\\d{0,15})'
const patterns: [RegExp, (m: RegExpExecArray) => Route][] = [
  [/^\/$/, () => ({ name: 'sessions' })],
  [new RegExp(`^/sessions/${id}$`), (m) => ({ name: 'session', id: Number(m[1]) })],
  [new RegExp(`^/sessions/${id}/split$`), (m) => ({ name: 'split', id: Number(m[1]) })],
  [
    new RegExp(`^/sessions/${id}/code(?:/${id})?$`),
    (m) => (m[2] ? { name: 'code', id: Number(m[1]), ball: Number(m[2]) } : { name: 'code', id: Number(m[1]) }),
  ],
  [new RegExp(`^/players/${id}/measures$`), (m) => ({ name: 'player-measures', id: Number(m[1]) })],
  [new RegExp(`^/sessions/${id}/measures$`), (m) => ({ name: 'measures', id: Number(m[1]) })],
  [new RegExp(`^/recordings/${id}/calibrate$`), (m) => ({ name: 'calibrate', id: Number(m[1]) })],
  [new RegExp(`^/sessions/${id}/second-looks$`), (m) => ({ name: 'second-looks', id: Number(m[1]) })],
  [new RegExp(`^/second-looks/${id}$`), (m) => ({ name: 'second-look', id: Number(m[1]) })],
  [new RegExp(`^/second-looks/${id}/agreement$`), (m) => ({ name: 'agreement', id: Number(m[1]) })],
  [/^\/agreement$/, () => ({ name: 'agreement' })],
  [new RegExp(`^/sessions/${id}/look-back$`), (m) => ({ name: 'look-back', id: Number(m[1]) })],
  [/^\/find$/, () => ({ name: 'find' })],
  [/^\/compare$/, () => ({ name: 'compare' })],
  [/^\/side-by-side$/, () => ({ name: 'side-by-side' })],
  [/^\/reels$/, () => ({ name: 'reels' })],
  [new RegExp(`^/reels/${id}$`), (m) => ({ name: 'reel', id: Number(m[1]) })],
  [new RegExp(`^/watch/${id}$`), (m) => ({ name: 'watch', id: Number(m[1]) })],
  [/^\/shared\/([^/]+)$/, (m) => ({ name: 'shared', secret: decode(m[1]) })],
  [/^\/plans$/, () => ({ name: 'plans' })],
  [new RegExp(`^/plans/${id}$`), (m) => ({ name: 'plan', id: Number(m[1]) })],
  [new RegExp(`^/plans/${id}/card$`), (m) => ({ name: 'card', id: Number(m[1]) })],
  [/^\/load$/, () => ({ name: 'load' })],
  [/^\/net$/, () => ({ name: 'net' })],
  [/^\/players$/, () => ({ name: 'players' })],
  [new RegExp(`^/players/${id}/progress$`), (m) => ({ name: 'progress', id: Number(m[1]) })],
  [/^\/people$/, () => ({ name: 'people' })],
  [/^\/vocabulary$/, () => ({ name: 'vocabulary' })],
  [/^\/join\/([^/]+)$/, (m) => ({ name: 'join', secret: decode(m[1]) })],
  [/^\/sign-in$/, () => ({ name: 'sign-in' })],
]

function decode(part = ''): string {
  try {
    return decodeURIComponent(part)
  } catch {
    return part
  }
}

/** The route of a path; `nowhere` when there is none. */
export function parse(path: string): Route {
  const clean = path.length > 1 ? path.replace(/\/+$/, '') : path
  for (const [re, make] of patterns) {
    const m = re.exec(clean || '/')
    if (m) return make(m)
  }
  return { name: 'nowhere' }
}

/** The path of a route. */
export function href(r: Route): string {
  switch (r.name) {
    case 'sessions':
    case 'nowhere':
      return '/'
    case 'session':
      return `/sessions/${r.id}`
    case 'split':
      return `/sessions/${r.id}/split`
    case 'look-back':
      return `/sessions/${r.id}/look-back`
    case 'progress':
      return `/players/${r.id}/progress`
    case 'code':
      return r.ball === undefined ? `/sessions/${r.id}/code` : `/sessions/${r.id}/code/${r.ball}`
    case 'player-measures':
      return `/players/${r.id}/measures`
    case 'measures':
      return `/sessions/${r.id}/measures`
    case 'calibrate':
      return `/recordings/${r.id}/calibrate`
    case 'second-looks':
      return `/sessions/${r.id}/second-looks`
    case 'second-look':
      return `/second-looks/${r.id}`
    case 'agreement':
      return r.id === undefined ? '/agreement' : `/second-looks/${r.id}/agreement`
    case 'reel':
      return `/reels/${r.id}`
    case 'plan':
      return `/plans/${r.id}`
    case 'card':
      return `/plans/${r.id}/card`
    case 'watch':
      return `/watch/${r.id}`
    case 'shared':
      return `/shared/${encodeURIComponent(r.secret)}`
    case 'join':
      return `/join/${encodeURIComponent(r.secret)}`
    default:
      return `/${r.name}`
  }
}

/** The address of two balls side by side; of one, where another is chosen for the side that is left out. */
export function sideBySideHref(left: number | undefined, right?: number): string {
  const query = Object.entries({ left, right }).flatMap(([k, v]) => (v ? [`${k}=${v}`] : []))
  return `/side-by-side?${query.join('&')}`
}

/** What a page is keyed by: a change of it is a new page with focus at its top; the ball of the coding page is not. */
export function pageKey(r: Route): string {
  if ('secret' in r) return `${r.name}/${r.secret}`
  return 'id' in r ? `${r.name}/${r.id}` : r.name
}
