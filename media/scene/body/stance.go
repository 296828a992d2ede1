package body

import "netreel/media/scene/space"

// Stance is a right-hander's stance at the popping crease (x = 1.22) with the
// feet base metres apart.
func Stance(base float64) Pose {
	var p Pose
	middle := 1.25
	p[FootL] = space.V{X: middle + base/2, Y: -0.10}
	p[FootR] = space.V{X: middle - base/2, Y: -0.10}
	p[ToeL] = space.V{X: 0.28, Y: 1}
	p[ToeR] = space.V{X: 0.05, Y: 1}
	p[Hip] = space.V{X: middle - 0.01, Y: -0.17, Z: 0.85 - 0.10*base*base}
	p[Lean] = space.V{X: 0.10, Y: 0.46}
	p[Turn] = space.V{X: -0.05, Y: -0.12}
	p[Gaze] = space.V{X: 1, Y: 0.10, Z: -0.10}
	p[Grip] = space.V{X: middle - 0.06, Y: 0.20, Z: 0.77}
	p[Blade] = space.V{X: -0.17, Y: -0.02, Z: -1}
	p[Face] = space.V{X: 1, Y: 0.12, Z: -0.1}
	p[HandL] = space.V{X: middle + 0.2, Y: 0.2, Z: 0.8}
	p[HandR] = space.V{X: middle - 0.2, Y: 0.2, Z: 0.8}
	p[Hold] = space.V{X: 1, Y: 1}
	return p
}
