import fc from 'fast-check'
import { describe, expect, it, test } from 'vitest'
import { admit } from './pages'
import { href, pageKey, parse, sideBySideHref, type Route } from './routes'

const id = fc.integer({ min: 1, max: 2 ** 40 })
const secret = fc.string({ minLength: 1 }).filter((s) => !['.', '..'].includes(s))
const route: fc.Arbitrary<Route> = fc.oneof(
  fc.constant<Route>({ name: 'net' }),
  fc.constantFrom('sessions', 'find', 'side-by-side', 'compare', 'reels', 'plans', 'load', 'players', 'people', 'vocabulary', 'sign-in', 'agreement').map((name) => ({ name }) as Route),
  fc.tuple(fc.constantFrom('session', 'split', 'look-back', 'progress', 'reel', 'watch', 'code', 'calibrate', 'measures', 'player-measures', 'plan', 'card', 'second-looks', 'second-look', 'agreement'), id).map(([name, n]) => ({ name, id: n }) as Route),
  fc.tuple(id, id).map(([n, ball]): Route => ({ name: 'code', id: n, ball })),
  fc.tuple(fc.constantFrom('shared', 'join'), secret).map(([name, s]) => ({ name, secret: s }) as Route),
)

describe('addresses', () => {
  it('are read back as they were written', () => {
    fc.assert(
      fc.property(route, (r) => {
        expect(parse(href(r))).toEqual(r)
      }),
    )
  })
  it.each(['/sessions/0', '/sessions/x', '/sessions/12/other', '/api/sessions', '/sessions/1/code/a', '/reels/1/2'])('%s is nowhere', (p) => {
    expect(parse(p)).toEqual({ name: 'nowhere' })
  })
  it('may end in a stroke, and broken escapes are taken as they are', () => {
    expect(parse('/find/')).toEqual({ name: 'find' })
    expect(parse('/join/%E0%A4%A')).toEqual({ name: 'join', secret: '%E0%A4%A' })
  })
})

test('two balls are named in the address, or the one that is known', () => {
  expect([sideBySideHref(3, 4), sideBySideHref(3), sideBySideHref(undefined, 4)]).toEqual(['/side-by-side?left=3&right=4', '/side-by-side?left=3', '/side-by-side?right=4'])
})

describe('admission', () => {
  it('keeps pages to those they are for', () => {
    expect(admit({ name: 'people' }, 'coach')).toBe('ok')
    expect(admit({ name: 'people' }, 'analyst')).toBe('not-for-you')
    expect(admit({ name: 'session', id: 1 }, 'player')).toBe('not-for-you')
    expect(admit({ name: 'watch', id: 1 }, 'player')).toBe('ok')
    expect(admit({ name: 'watch', id: 1 }, null)).toBe('sign-in')
    expect(admit({ name: 'shared', secret: 'x' }, null)).toBe('ok')
    expect(admit({ name: 'join', secret: 'x' }, null)).toBe('ok')
  })
  it('keeps the coding page in place from ball to ball', () => {
    expect(pageKey({ name: 'code', id: 1, ball: 2 })).toBe(pageKey({ name: 'code', id: 1, ball: 3 }))
    expect(pageKey({ name: 'code', id: 1 })).not.toBe(pageKey({ name: 'split', id: 1 }))
  })
})
