/** Fewer or more balls: which of them a cut proposes. Pure; a cut is the confidence from which a ball is proposed, 0 to 1. */
import type { LaneBall, WeakBall } from '../api/types'
import { clamp } from '../time/span'

/** The ends of the slider: beyond them lies what is no ball, or none would be left. */
export const LEAST_CUT = 0.05
export const MOST_CUT = 0.95

/** The slider goes from fewer to more, the cut the other way. */
export const sliderOf = (cut: number): number => Math.round((1 - clamp(cut, LEAST_CUT, MOST_CUT)) * 100)
export const cutOf = (slider: number): number => Math.round(100 - slider) / 100

/** A proposal that nobody has looked at goes when the cut rises above it; everything else stays. */
export const below = (b: LaneBall, cut: number): boolean => b.state === 'proposed' && b.origin === 'split' && b.confidence < cut

/** What a lower cut would propose besides. */
export const besides = (weak: readonly WeakBall[], cut: number): WeakBall[] => weak.filter((w) => w.confidence >= cut)
