package body

import (
	"math"

	"netreel/media/scene/space"
)

// fit moves trunk and shoulders until both hands reach the bat. Where the bat
// need not be at a certain place (keep is false) it gives way as well.
func fit(p *Pose, b Build, keep bool) {
	for range 24 {
		s := Solve(p, b)
		worst := 0.0
		for side := range 2 {
			gap := s.held(side).Sub(s.Wrist[side])
			l := gap.Len()
			worst = max(worst, l)
			if l < 0.004 {
				continue
			}
			if !keep {
				p[Grip] = p[Grip].Along(gap, -0.25)
			}
			p[Lean] = p[Lean].Add(space.V{X: 0.5 * gap.X, Y: 0.5 * gap.Y})
			p[Hip] = p[Hip].Add(space.V{X: 0.16 * gap.X, Y: 0.16 * gap.Y, Z: 0.25 * gap.Z})
			p[Hip].Z = min(0.935, p[Hip].Z)
			// Turning the shoulders brings one of them nearer.
			arm := s.Shoulder[side].Sub(s.Neck)
			swing := space.V{X: -arm.Y, Y: arm.X}
			turn := 0.35 * gap.Dot(swing) / max(0.01, swing.Dot(swing))
			p[Turn].Y += math.Max(-0.08, math.Min(0.08, turn))
		}
		if worst < 0.01 {
			return
		}
	}
}

// held is where a wrist has to be to hold the bat.
func (s *Skeleton) held(side int) space.V {
	// The left hand is the top hand of a right-hander; the wrist lies behind
	// the handle as seen from the face.
	sign := 1 - 2*float64(side)
	return s.Grip.Along(s.Blade, -sign*handSpread-0.02).Along(s.Face, -0.035)
}
