/** Which component shows a route, who may see it, and how much of the window it takes. */
import type { Component } from 'svelte'
import type { Role } from './api/types'
import type { Route, RouteName } from './routes'

/**
 * `page`: a column to read in. `wide`: the whole width. `stage`: the whole window under a slim bar, for pictures.
 * `bare`: nothing around it, no account needed.
 */
export type Frame = 'page' | 'wide' | 'stage' | 'bare'

export interface Page {
  load: () => Promise<{ default: Component<any> }>
  frame: Frame
  /** Who may see it; everybody when left out. */
  roles?: readonly Role[]
}

const staff: readonly Role[] = ['coach', 'analyst']
const all: readonly Role[] = ['coach', 'analyst', 'player']

export const pages: Record<RouteName, Page> = {
  sessions: { load: () => import('./pages/Sessions.svelte'), frame: 'page', roles: staff },
  session: { load: () => import('./pages/Session.svelte'), frame: 'page', roles: staff },
  split: { load: () => import('./pages/Split.svelte'), frame: 'stage', roles: staff },
  code: { load: () => import('./pages/Coding.svelte'), frame: 'stage', roles: staff },
  calibrate: { load: () => import('./pages/Calibrate.svelte'), frame: 'wide', roles: staff },
  'second-looks': { load: () => import('./pages/SecondLooks.svelte'), frame: 'page', roles: staff },
  'second-look': { load: () => import('./pages/SecondLook.svelte'), frame: 'stage', roles: staff },
  agreement: { load: () => import('./pages/Agreement.svelte'), frame: 'page', roles: staff },
  'look-back': { load: () => import('./pages/LookBack.svelte'), frame: 'wide', roles: staff },
  'player-measures': { load: () => import('./pages/PlayerMeasures.svelte'), frame: 'page', roles: staff },
  measures: { load: () => import('./pages/Measures.svelte'), frame: 'wide', roles: staff },
  find: { load: () => import('./pages/Find.svelte'), frame: 'wide', roles: all },
  compare: { load: () => import('./pages/Compare.svelte'), frame: 'wide', roles: staff },
  'side-by-side': { load: () => import('./pages/SideBySide.svelte'), frame: 'stage', roles: all },
  reels: { load: () => import('./pages/Reels.svelte'), frame: 'page', roles: all },
  reel: { load: () => import('./pages/Reel.svelte'), frame: 'wide', roles: staff },
  watch: { load: () => import('./pages/Watch.svelte'), frame: 'stage', roles: all },
  shared: { load: () => import('./pages/Watch.svelte'), frame: 'bare' },
  plans: { load: () => import('./pages/Plans.svelte'), frame: 'page', roles: staff },
  plan: { load: () => import('./pages/Plan.svelte'), frame: 'wide', roles: staff },
  card: { load: () => import('./pages/Card.svelte'), frame: 'bare', roles: staff },
  // Whoever opens it without a connection can't be asked who they are; it asks when it sends.
  net: { load: () => import('./pages/Net.svelte'), frame: 'bare' },
  load: { load: () => import('./pages/Load.svelte'), frame: 'page', roles: staff },
  players: { load: () => import('./pages/Players.svelte'), frame: 'page', roles: staff },
  progress: { load: () => import('./pages/Progress.svelte'), frame: 'wide', roles: staff },
  people: { load: () => import('./pages/People.svelte'), frame: 'page', roles: ['coach'] },
  vocabulary: { load: () => import('./pages/Vocabulary.svelte'), frame: 'page', roles: staff },
  join: { load: () => import('./pages/Join.svelte'), frame: 'bare' },
  'sign-in': { load: () => import('./pages/SignIn.svelte'), frame: 'bare' },
  nowhere: { load: () => import('./pages/Nowhere.svelte'), frame: 'page' },
}

export type Admission = 'ok' | 'sign-in' | 'not-for-you'

/** Whether somebody with this role (null: nobody signed in) may see a route. */
export function admit(route: Route, role: Role | null): Admission {
  const { roles } = pages[route.name]
  if (!roles) return 'ok'
  if (role === null) return 'sign-in'
  return roles.includes(role) ? 'ok' : 'not-for-you'
}
