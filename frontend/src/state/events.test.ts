import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { Events, type Change, type Source } from './events.svelte'

class FakeSource implements Source {
  onopen: Source['onopen'] = null
  onmessage: Source['onmessage'] = null
  onerror: Source['onerror'] = null
  readyState = 1
  closed = false
  here: () => void = () => {}
  addEventListener(_: 'here', fn: () => void) {
    this.here = fn
  }
  close() {
    this.closed = true
  }
  says(data: unknown) {
    this.onmessage?.({ data: typeof data === 'string' ? data : JSON.stringify(data) } as MessageEvent<string>)
  }
  opens() {
    this.onopen?.({} as Event)
  }
  /** `for good`: the server refused, so the browser does not try again. */
  breaks(forGood: boolean) {
    this.readyState = forGood ? 2 : 0
    this.onerror?.({} as Event)
  }
}

let sources: FakeSource[]
let refused: number
let events: Events
beforeEach(() => {
  vi.useFakeTimers()
  sources = []
  refused = 0
  events = new Events(
    () => {
      const s = new FakeSource()
      sources.push(s)
      return s
    },
    () => refused++,
  )
})
afterEach(() => {
  events.stop()
  vi.useRealTimers()
})

describe('events', () => {
  it('tells each listener its own topics', () => {
    const heard: Change[] = []
    const stop = events.on(['lane', 'clip'], (c) => heard.push(c))
    events.start()
    sources[0]!.says({ topic: 'lane', id: 3, session: 1 })
    sources[0]!.says({ topic: 'reel', id: 4 })
    sources[0]!.says('heartbeat')
    stop()
    sources[0]!.says({ topic: 'clip', id: 5 })
    expect(heard).toEqual([{ topic: 'lane', id: 3, session: 1 }])
  })
  it('opens one stream however often it is started', () => {
    events.start()
    events.start()
    expect(sources).toHaveLength(1)
  })
  it('says "everything" after a break, because events may have been missed', () => {
    const heard: string[] = []
    events.on(['reel'], (c) => heard.push(c.topic))
    events.start()
    sources[0]!.opens()
    expect(heard).toEqual([])
    sources[0]!.breaks(false)
    expect(sources).toHaveLength(1)
    sources[0]!.opens()
    expect(heard).toEqual(['everything'])
  })
  it('hears "everything" from the server whatever the topics', () => {
    const heard: string[] = []
    events.on([], (c) => heard.push(c.topic))
    events.start()
    sources[0]!.says({ topic: 'everything', id: 0 })
    expect(heard).toEqual(['everything'])
  })
  it('tries again by itself when the server refuses, ever more slowly, and asks who is signed in', () => {
    events.start()
    sources[0]!.breaks(true)
    expect(refused).toBe(1)
    expect(sources[0]!.closed).toBe(true)
    vi.advanceTimersByTime(1000)
    expect(sources).toHaveLength(2)
    sources[1]!.breaks(true)
    vi.advanceTimersByTime(1000)
    expect(sources).toHaveLength(2)
    vi.advanceTimersByTime(1000)
    expect(sources).toHaveLength(3)
  })
  it('takes a silent line for dead and opens another, but not while there are signs of life', () => {
    const heard: string[] = []
    events.on(['reel'], (c) => heard.push(c.topic))
    events.start()
    sources[0]!.opens()
    for (let i = 0; i < 5; i++) {
      vi.advanceTimersByTime(20_000)
      sources[0]!.here()
    }
    expect(sources).toHaveLength(1)
    vi.advanceTimersByTime(50_000)
    expect(sources).toHaveLength(2)
    expect(sources[0]!.closed).toBe(true)
    sources[1]!.opens()
    expect(heard).toEqual(['everything'])
  })
  it('stays closed once stopped', () => {
    events.start()
    sources[0]!.breaks(true)
    events.stop()
    vi.advanceTimersByTime(60_000)
    expect(sources).toHaveLength(1)
  })
})
