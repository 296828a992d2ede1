import { expect, test } from 'vitest'
import { Turns } from './turns'

test('no more than so many run at once, in the order they were asked for', () => {
  const turns = new Turns(2)
  const begun: number[] = []
  const end = [1, 2, 3, 4].map((n) => turns.take(() => begun.push(n)))
  expect(begun).toEqual([1, 2])
  end[1]!()
  expect(begun).toEqual([1, 2, 3])
  end[1]!()
  expect(begun).toEqual([1, 2, 3])
  end[0]!()
  expect(begun).toEqual([1, 2, 3, 4])
})

test('who gives up waiting is passed over, and a free turn is taken at once', () => {
  const turns = new Turns(1)
  const begun: number[] = []
  const end = [1, 2, 3].map((n) => turns.take(() => begun.push(n)))
  end[1]!()
  end[0]!()
  expect(begun).toEqual([1, 3])
  end[2]!()
  turns.take(() => begun.push(4))
  expect(begun).toEqual([1, 3, 4])
})
