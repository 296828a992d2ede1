/** What was pressed at the net, in words. */
import type { NetMark } from '../../api/types'

const names: Record<NetMark['kind'], string> = {
  start: 'Start', block: 'Block', given: 'Ball given', look: 'Look at this', good: 'Good', term: 'Term', word: 'Player', clap: 'Clap', undo: 'Taken back',
}

export function markWords(m: Pick<NetMark, 'kind' | 'body' | 'term'>, nameOf: (term: string) => string = (t) => t): string {
  if (m.kind === 'word') return `Player: “${m.body}”`
  if (m.kind === 'block' && m.body) return `Block: ${m.body}`
  return m.kind === 'term' ? nameOf(m.term) : names[m.kind]
}
