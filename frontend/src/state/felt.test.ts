import { beforeEach, describe, expect, it, vi } from 'vitest'
import type { PlaylistItem } from '../api/types'

const api = vi.hoisted(() => ({ felt: vi.fn(), sayFelt: vi.fn() }))
vi.mock('../api/lookback', () => api)
const { endsBlock, FeltDesk, flipped } = await import('./felt.svelte')

const item = (id: number, block: number | null) => ({ ball: { id, block_id: block } }) as unknown as PlaylistItem

beforeEach(() => {
  vi.resetAllMocks()
  api.felt.mockResolvedValue({ words: [{ key: 'strong', name: 'Strong' }], said: [{ ball_id: 1, block_id: null, words: ['strong'], by: 'Wren Oldacre', at_net: true }] })
  api.sayFelt.mockResolvedValue(undefined)
})

describe('how it felt', () => {
  it('is there as it was said, and a tap says it or takes it back', async () => {
    const desk = new FeltDesk()
    await desk.load([item(1, 7), item(2, 7), item(3, null)])
    expect(api.felt).toHaveBeenCalledWith([1, 2, 3], [7])
    expect(desk.of({ ball_id: 1 })).toEqual(['strong'])
    expect(desk.pressedBy({ ball_id: 1 })).toBe('Wren Oldacre')
    await desk.flip({ ball_id: 1 }, 'strong')
    expect(desk.pressedBy({ ball_id: 1 })).toBe('')
    expect(api.sayFelt).toHaveBeenLastCalledWith({ ball_id: 1 }, [])
    await desk.flip({ block_id: 7 }, 'late')
    expect(desk.of({ block_id: 7 })).toEqual(['late'])
  })
  it('is shown at once, sent in the order of the taps', async () => {
    const desk = new FeltDesk()
    const both = [desk.flip({ ball_id: 2 }, 'late'), desk.flip({ ball_id: 2 }, 'strong')]
    expect(desk.of({ ball_id: 2 })).toEqual(['late', 'strong'])
    await Promise.all(both)
    expect(api.sayFelt.mock.calls.map((c) => c[1])).toEqual([['late'], ['late', 'strong']])
  })
  it('is taken back when it could not be kept', async () => {
    api.sayFelt.mockRejectedValue(new Error('no'))
    const desk = new FeltDesk()
    await desk.flip({ ball_id: 2 }, 'late')
    expect(desk.of({ ball_id: 2 })).toEqual([])
  })
  it('asks of a block after its last ball in the reel', () => {
    const reel = [item(1, 7), item(2, 8), item(3, 7), item(4, null)]
    expect([0, 1, 2, 3].map((at) => endsBlock(reel, at))).toEqual([false, true, true, false])
    expect(flipped(['a'], 'a')).toEqual([])
  })
})
