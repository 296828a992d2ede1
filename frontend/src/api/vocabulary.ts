import { call } from './client'
import type { Vocabulary } from './types'

/** An edition of the vocabulary; the current one without a number. */
export const vocabulary = (edition?: number) => call('get', '/api/vocabulary', { query: { edition } })
/** Makes a new edition out of the one that `number` names; a conflict when that is no longer the current one. */
export const saveVocabulary = (body: Vocabulary) => call('put', '/api/vocabulary', { body })
