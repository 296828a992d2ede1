package body

import "netreel/media/scene/space"

// goBack sets the feet of a back-foot shot: back and across, m.Base apart.
func goBack(p *Pose, m Meeting, x, y, share float64) {
	right := space.V{X: x, Y: y}
	p[FootR] = space.Mix(p[FootR], right, share)
	left := space.V{X: right.X + m.Base, Y: y - 0.06}
	if share < 1 {
		p[FootR].Z = 0.05
	} else {
		p[FootR].Z = 0
		p[FootL] = left
	}
	p[Hip] = space.Mix(p[Hip], space.V{X: right.X + 0.42*m.Base, Y: y - 0.06, Z: 0.89 - 0.12*m.Base*m.Base}, share)
}

func backDefence(m Meeting) []beat {
	y := m.Point.Y - 0.22
	return []beat{
		{-0.50, func(p *Pose) { lift(p, 0.4); goBack(p, m, 0.72, y, 0.5) }},
		{-0.30, func(p *Pose) { goBack(p, m, 0.72, y, 1); lift(p, 0.6); p[Lean] = space.V{X: 0.12, Y: 0.3} }},
		{-0.12, func(p *Pose) {
			p[Turn] = space.V{X: -0.1, Y: 0, Z: 1}
			hands(p, m.Point.Add(space.V{X: -0.08, Y: -0.05, Z: 0.56}), space.V{X: -0.6, Y: 0.03, Z: -0.8}, space.V{X: 0.8, Z: -0.5})
		}},
		{0, func(p *Pose) {
			p[Lean] = space.V{X: 0.14, Y: 0.24}
			meet(p, m, space.V{X: -0.22, Y: 0.02, Z: -1}, space.V{X: 1, Z: -0.2})
		}},
		{0.12, func(p *Pose) { p[Grip] = p[Grip].Add(space.V{X: -0.05, Z: 0.01}) }},
		{0.55, func(p *Pose) {}},
	}
}

func backFootDrive(m Meeting) []beat {
	y := m.Point.Y - 0.24
	aim := heading(m, 0.6)
	return []beat{
		{-0.52, func(p *Pose) { lift(p, 0.6); goBack(p, m, 0.74, y, 0.5) }},
		{-0.32, func(p *Pose) { goBack(p, m, 0.74, y, 1); lift(p, 1); p[Lean] = space.V{X: 0.1, Y: 0.3} }},
		{-0.10, func(p *Pose) {
			p[Turn] = space.V{X: -0.1, Y: -0.05, Z: 1}
			hands(p, m.Point.Add(space.V{X: -0.30, Y: -0.05, Z: 0.5}), space.V{X: -0.9, Y: 0.05, Z: -0.3}, space.V{X: 0.3, Y: 0.2, Z: 0.8})
		}},
		{0, func(p *Pose) { meet(p, m, space.V{X: -0.10, Y: 0.05, Z: -1}, aim.Add(space.V{Z: -0.05})) }},
		{0.09, func(p *Pose) {
			p[FootL].Z = 0.03
			hands(p, m.Point.Along(aim, 0.18).Add(space.V{Y: -0.06, Z: 0.5}), aim.Mul(0.8).Add(space.V{Z: -0.45}), aim.Mul(0.4).Add(space.V{Z: 0.8}))
		}},
		{0.22, func(p *Pose) {
			p[Turn].Y = -0.35
			hands(p, m.Point.Along(aim, 0.14).Add(space.V{Y: -0.12, Z: 0.66}), aim.Mul(0.7).Add(space.V{Z: 0.7}), aim.Mul(-0.6).Add(space.V{Z: 0.5}))
		}},
		{0.75, func(p *Pose) {}},
	}
}

// cut goes back and across and throws the arms at a wide short ball.
func cut(m Meeting) []beat {
	y := max(0.02, m.Point.Y-0.62)
	return []beat{
		{-0.50, func(p *Pose) { lift(p, 0.8); goBack(p, m, 0.70, y, 0.5) }},
		{-0.28, func(p *Pose) {
			goBack(p, m, 0.70, y, 1)
			p[ToeR] = space.V{X: -0.2, Y: 1}
			p[Turn] = space.V{X: 0.25, Y: 0.45, Z: 0.6}
			p[Lean] = space.V{X: 0.02, Y: 0.34}
			hands(p, p[Hip].Add(space.V{X: -0.12, Y: 0.18, Z: 0.42}), space.V{X: -0.62, Y: -0.05, Z: 0.8}, space.V{X: 0.4, Y: 0.7, Z: 0.4})
		}},
		{-0.08, func(p *Pose) {
			p[Hip].Z -= 0.04
			p[Lean] = space.V{X: 0.05, Y: 0.46}
			p[Turn] = space.V{X: 0.15, Y: 0.25, Z: 0.4}
			hands(p, space.Mix(p[Hip].Add(space.V{Z: 0.4}), m.Point, 0.38).Add(space.V{Z: 0.1}), space.V{X: -0.85, Y: 0.42, Z: 0.22}, space.V{X: 0.4, Y: 0.85, Z: 0.1})
		}},
		{0, func(p *Pose) {
			p[Lean] = space.V{X: 0.08, Y: 0.50}
			p[Turn].Y = 0.05
			meet(p, m, space.V{X: -0.18, Y: 0.93, Z: -0.30}, space.V{X: 0.92, Y: 0.3, Z: -0.1})
		}},
		{0.08, func(p *Pose) {
			p[Turn].Y = -0.3
			hands(p, p[Hip].Add(space.V{X: 0.36, Y: 0.34, Z: 0.34}), space.V{X: 0.78, Y: 0.55, Z: -0.25}, space.V{X: 0.5, Y: -0.8, Z: 0.1})
		}},
		{0.19, func(p *Pose) {
			p[Turn].Y = -0.65
			hands(p, p[Hip].Add(space.V{X: 0.40, Y: 0.12, Z: 0.46}), space.V{X: 0.85, Y: -0.45, Z: 0.25}, space.V{X: -0.4, Y: -0.8, Z: -0.2})
		}},
		{0.36, func(p *Pose) {
			hands(p, p[Hip].Add(space.V{X: 0.28, Y: -0.06, Z: 0.60}), space.V{X: 0.15, Y: -0.8, Z: 0.6}, space.V{X: -0.8, Y: -0.1, Z: -0.5})
		}},
		{0.8, func(p *Pose) {}},
	}
}

// pull swivels on the back foot and hits across the line from in front of the
// chest, the chest open to the bowler.
func pull(m Meeting) []beat {
	y := m.Point.Y - 0.46
	return []beat{
		{-0.50, func(p *Pose) { lift(p, 0.9); goBack(p, m, 0.78, y+0.1, 0.5) }},
		{-0.27, func(p *Pose) {
			goBack(p, m, 0.78, y+0.06, 1)
			p[ToeR] = space.V{X: 0.35, Y: 0.9}
			p[FootL].Z = 0.05
			p[Lean] = space.V{X: 0.08, Y: 0.26}
			p[Turn] = space.V{X: -0.2, Y: -0.05, Z: 0.5}
			hands(p, p[Hip].Add(space.V{X: -0.04, Y: 0.30, Z: 0.52}), space.V{X: -0.62, Y: 0.30, Z: 0.72}, space.V{X: 0.4, Y: 0.5, Z: 0.6})
		}},
		{-0.08, func(p *Pose) {
			p[FootL] = p[FootR].Add(space.V{X: m.Base * 0.86, Y: -m.Base * 0.5})
			p[ToeL] = space.V{X: 0.9, Y: 0.1}
			p[Hip] = space.V{X: p[FootR].X + 0.45*m.Base, Y: p[FootR].Y - 0.10, Z: 0.885 - 0.1*m.Base*m.Base}
			p[Turn] = space.V{X: -0.75, Y: -0.7, Z: 0.2}
			hands(p, p[Hip].Add(space.V{X: 0.24, Y: 0.28, Z: 0.42}), space.V{X: -0.12, Y: 0.95, Z: 0.28}, space.V{X: 0.95, Y: 0, Z: 0.2})
		}},
		{0, func(p *Pose) {
			p[Turn] = space.V{X: -1.0, Y: -1.15}
			p[Lean] = space.V{X: 0.16, Y: 0.12}
			p[ToeR] = space.V{X: 0.8, Y: 0.5}
			meet(p, m, space.V{X: 0.62, Y: 0.76, Z: -0.12}, space.V{X: 0.62, Y: -0.72, Z: -0.1})
		}},
		{0.08, func(p *Pose) {
			p[Turn].Y = -1.5
			hands(p, p[Hip].Add(space.V{X: 0.40, Y: -0.06, Z: 0.36}), space.V{X: 0.88, Y: -0.42, Z: 0.0}, space.V{X: -0.42, Y: -0.85, Z: 0})
		}},
		{0.18, func(p *Pose) {
			p[Turn] = space.V{X: -1.3, Y: -1.95}
			p[FootR].Z = 0.06
			hands(p, p[Hip].Add(space.V{X: 0.28, Y: -0.30, Z: 0.44}), space.V{X: 0.15, Y: -0.95, Z: 0.16}, space.V{X: -0.9, Y: -0.1, Z: 0})
		}},
		{0.34, func(p *Pose) {
			p[Turn] = space.V{X: -1.45, Y: -2.2}
			hands(p, p[Hip].Add(space.V{X: 0.04, Y: -0.36, Z: 0.58}), space.V{X: -0.75, Y: -0.35, Z: 0.5}, space.V{X: -0.3, Y: 0.8, Z: -0.2})
		}},
		{0.85, func(p *Pose) {}},
	}
}

// leave lifts the bat out of the way and lets the ball pass.
func leave(m Meeting) []beat {
	return []beat{
		{-0.50, func(p *Pose) { lift(p, 0.5) }},
		{-0.26, func(p *Pose) {
			p[FootR] = p[FootR].Add(space.V{X: -0.12, Y: 0.10})
			p[Hip] = p[Hip].Add(space.V{X: -0.04, Y: 0.06, Z: 0.02})
			hands(p, p[Hip].Add(space.V{X: 0.06, Y: 0.34, Z: 0.50}), space.V{X: -0.55, Y: -0.1, Z: 0.8}, space.V{X: 0.5, Y: 0.6, Z: 0.3})
		}},
		{-0.04, func(p *Pose) {
			p[FootL] = p[FootL].Add(space.V{X: 0.04, Y: 0.08})
			p[Lean] = space.V{X: 0.08, Y: 0.22}
			hands(p, p[Hip].Add(space.V{X: 0.14, Y: 0.16, Z: 0.66}), space.V{X: -0.05, Y: -0.4, Z: 0.9}, space.V{X: 0.9, Y: 0.1, Z: 0.1})
		}},
		{0.45, func(p *Pose) { p[Gaze] = space.V{X: 0.4, Y: 0.7, Z: -0.2} }},
		{0.8, func(p *Pose) {}},
	}
}

// evade ducks under a ball at the head or sways out of its line.
func evade(m Meeting) []beat {
	if m.Point.Z > 1.45 {
		return []beat{
			{-0.42, func(p *Pose) { lift(p, 0.3) }},
			{-0.16, func(p *Pose) {
				p[Hip] = p[Hip].Add(space.V{X: 0, Y: -0.05, Z: -0.22})
				p[Lean] = space.V{X: 0.35, Y: 0.75}
				hands(p, p[Hip].Add(space.V{X: 0.02, Y: 0.42, Z: 0.12}), space.V{X: -0.6, Y: 0.3, Z: -0.6}, space.V{X: 0.8, Z: -0.3})
			}},
			{0.0, func(p *Pose) {
				p[Hip].Z -= 0.12
				p[Lean] = space.V{X: 0.45, Y: 1.0}
				p[Grip].Z -= 0.16
			}},
			{0.25, func(p *Pose) {}},
			{0.8, func(p *Pose) { p[Hip].Z += 0.2; p[Lean] = space.V{X: 0.2, Y: 0.5}; p[Grip].Z += 0.15 }},
		}
	}
	return []beat{
		{-0.42, func(p *Pose) { lift(p, 0.4) }},
		{-0.18, func(p *Pose) {
			p[FootR] = p[FootR].Add(space.V{X: -0.16, Y: -0.02})
			p[Lean] = space.V{X: -0.10, Y: 0.05}
			hands(p, p[Hip].Add(space.V{X: 0.10, Y: 0.30, Z: -0.02}), space.V{X: -0.3, Y: 0.3, Z: -0.9}, space.V{X: 0.9, Z: -0.2})
		}},
		{0.0, func(p *Pose) {
			p[Hip] = p[Hip].Add(space.V{X: -0.08, Y: -0.12})
			p[Lean] = space.V{X: -0.28, Y: -0.22}
			p[Nod] = space.V{X: -0.03, Y: -0.06}
			p[Grip] = p[Grip].Add(space.V{Y: -0.05, Z: -0.06})
		}},
		{0.22, func(p *Pose) {}},
		{0.8, func(p *Pose) { p[Lean] = space.V{X: 0, Y: 0.2}; p[Nod] = space.V{} }},
	}
}
