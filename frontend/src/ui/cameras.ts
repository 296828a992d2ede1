/** Where a camera stands, in words. */
import type { Camera } from '../api/types'

export const cameraNames: Record<Camera, string> = {
  'side-on': 'Side-on',
  'behind-the-arm': 'Behind the arm',
  other: 'Other',
}
export const cameras = Object.keys(cameraNames) as Camera[]
