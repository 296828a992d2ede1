import { call } from './client'
import type { AccountChange, Invitation, PlayerInput, UseLink } from './types'

export const me = () => call('get', '/api/me')
export const signIn = (email: string, password: string) => call('post', '/api/sign-in', { body: { email, password } })
export const signOut = () => call('post', '/api/sign-out')
export const setPassword = (password: string) => call('put', '/api/me/password', { body: { password } })

export const peekLink = (secret: string) => call('get', '/api/links/{secret}', { path: { secret } })
export const useLink = (secret: string, body: UseLink) => call('post', '/api/links/{secret}', { path: { secret }, body })

export const accounts = () => call('get', '/api/accounts')
export const invite = (body: Invitation) => call('post', '/api/accounts', { body })
export const changeAccount = (id: number, body: AccountChange) =>
  call('patch', '/api/accounts/{id}', { path: { id }, body })
export const newLink = (id: number) => call('post', '/api/accounts/{id}/link', { path: { id } })
export const renameSquad = (name: string) => call('put', '/api/squad', { body: { name } })

export const players = () => call('get', '/api/players')
export const addPlayer = (body: PlayerInput) => call('post', '/api/players', { body })
export const changePlayer = (id: number, body: PlayerInput) => call('put', '/api/players/{id}', { path: { id }, body })
