/** The roles, in words. */
import type { Role } from '../../api/types'

export const roleNames: Record<Role, string> = { coach: 'Coach', analyst: 'Analyst', player: 'Player' }

export const roleMeans: Record<Role, string> = {
  coach: 'Does everything, and says who may come in.',
  analyst: 'Uploads, checks the split, codes and makes reels.',
  player: 'Watches their own balls, and reels that are for them.',
}
export const roles: readonly Role[] = ['coach', 'analyst', 'player']

/** "a coach", "an analyst", "a player". */
export const asRole = (r: Role): string => `${r === 'analyst' ? 'an' : 'a'} ${r}`
