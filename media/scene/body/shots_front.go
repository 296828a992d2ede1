package body

import "netreel/media/scene/space"

// shots gives the beats of each shot. Times before contact follow Stretch et
// al. 1998 (J Sports Sci 16:711-720): the stride begins about 0.6 s, the
// downswing 0.36 s and the front foot's landing 0.06 to 0.14 s before impact.
var shots = map[Shot]func(Meeting) []beat{
	ForwardDefence: forwardDefence,
	BackDefence:    backDefence,
	Drive:          drive,
	Loft:           loft,
	Flick:          flick,
	Sweep:          sweep,
	BackFootDrive:  backFootDrive,
	Cut:            cut,
	Pull:           pull,
	Leave:          leave,
	Evade:          evade,
}

// lift takes the bat back and up.
func lift(p *Pose, high float64) {
	hip := p[Hip]
	hands(p, space.V{X: hip.X - 0.10, Y: hip.Y + 0.30, Z: 0.96 + 0.14*high},
		space.V{X: -0.80, Y: 0.10, Z: 0.15 + 0.55*high}, space.V{X: 0.3, Y: 0.9, Z: 0.3})
	p[Turn].Y = 0.08
	p[Turn].Z = 0.35
}

// strideTo puts the front foot beside the line of the ball and the weight over
// it.
func strideTo(p *Pose, m Meeting, reach float64) {
	foot := space.V{X: m.Point.X - reach, Y: min(0.12, m.Point.Y-0.24)}
	p[FootL] = foot
	p[ToeL] = space.V{X: 0.75, Y: 0.75}
	p[Hip] = space.V{X: 0.40*p[FootR].X + 0.60*foot.X, Y: 0.5*(p[FootR].Y+foot.Y) - 0.05, Z: 0.80}
	p[Lean] = space.V{X: 0.34, Y: 0.24}
	p[Turn] = space.V{X: -0.22, Y: -0.10, Z: 0.8}
}

// onTheWay is the front foot in the air.
func onTheWay(p *Pose, m Meeting, reach, share float64) {
	to := space.V{X: m.Point.X - reach, Y: min(0.12, m.Point.Y-0.24)}
	p[FootL] = space.Mix(p[FootL], to, share)
	p[FootL].Z = 0.07
	p[ToeL] = space.V{X: 0.65, Y: 0.75, Z: 0.12}
	p[Hip] = p[Hip].Add(space.V{X: 0.10 * share, Z: -0.01})
	p[Lean] = space.V{X: 0.2, Y: 0.36}
}

// approach gives the beats up to the downswing of a front-foot shot, with the
// steps down the pitch when they are asked for.
func approach(m Meeting, high, reach float64) []beat {
	down := func(p *Pose) { lift(p, high) }
	if m.Down > 0.3 {
		d := m.Down
		return []beat{
			{-0.92, func(p *Pose) { lift(p, high*0.5); p[FootL].X += 0.10 * d; p[FootL].Z = 0.06 }},
			{-0.74, func(p *Pose) {
				p[FootL].X += 0.42 * d
				p[FootL].Z = 0
				p[ToeL] = space.V{X: 0.6, Y: 0.8}
				p[Hip].X += 0.38 * d
				p[Lean].X = 0.28
				lift(p, high*0.7)
			}},
			{-0.58, func(p *Pose) {
				p[FootR] = space.V{X: p[FootR].X + 0.55*d, Y: p[FootR].Y - 0.10, Z: 0.09}
				p[Hip].X += 0.25 * d
				lift(p, high*0.9)
			}},
			{-0.42, func(p *Pose) {
				p[FootR] = space.V{X: p[FootR].X + 0.52*d, Y: p[FootR].Y, Z: 0}
				p[Hip].X += 0.22 * d
				lift(p, high)
			}},
			{-0.24, func(p *Pose) { onTheWay(p, m, reach, 0.6); down(p) }},
		}
	}
	return []beat{
		{-0.62, func(p *Pose) { lift(p, high*0.55) }},
		{-0.36, func(p *Pose) { onTheWay(p, m, reach, 0.55); down(p) }},
	}
}

func drive(m Meeting) []beat {
	aim := heading(m, 0.6)
	return append(approach(m, 1, 0.30),
		beat{-0.11, func(p *Pose) {
			strideTo(p, m, 0.30)
			hands(p, m.Point.Add(space.V{X: -0.34, Y: -0.06, Z: 0.62 - 0.1*m.Point.Z}), space.V{X: -0.92, Y: 0.08, Z: -0.25}, space.V{X: 0.2, Y: 0.6, Z: 0.7})
		}},
		beat{0, func(p *Pose) {
			p[FootR] = p[FootR].Add(space.V{X: 0.05, Z: 0.06})
			meet(p, m, space.V{X: -0.14, Y: 0.03, Z: -1}, aim.Add(space.V{Z: 0.1}))
		}},
		beat{0.09, func(p *Pose) {
			p[Hip] = p[Hip].Add(space.V{X: 0.06, Z: 0.01})
			hands(p, m.Point.Along(aim, 0.22).Add(space.V{Y: -0.06, Z: 0.62}), aim.Mul(0.75).Add(space.V{Z: -0.62}), aim.Mul(0.6).Add(space.V{Z: 0.75}))
		}},
		beat{0.20, func(p *Pose) {
			p[Turn] = space.V{X: -0.35, Y: -0.35, Z: 1}
			p[FootR].Z = 0.10
			hands(p, m.Point.Along(aim, 0.22).Add(space.V{Y: -0.14, Z: 0.94}), aim.Mul(0.66).Add(space.V{Z: 0.72}), aim.Mul(-0.6).Add(space.V{Z: 0.5}))
		}},
		beat{0.40, func(p *Pose) {
			p[Hip].Z += 0.03
			hands(p, m.Point.Along(aim, 0.02).Add(space.V{Y: -0.26, Z: 1.12}), space.V{X: -0.45, Y: -0.45, Z: 0.75}, space.V{X: -0.7, Y: 0.2, Z: -0.4})
		}},
		beat{0.85, func(p *Pose) {}},
	)
}

// loft is a drive hit high: a freer swing and a longer finish.
func loft(m Meeting) []beat {
	beats := drive(m)
	for i := range beats {
		if b := beats[i]; b.at >= 0 {
			do := b.do
			beats[i].do = func(p *Pose) {
				do(p)
				p[Lean].X -= 0.16
				if b.at > 0.15 {
					p[Grip].Z += 0.06
				}
			}
		}
	}
	return beats
}

func forwardDefence(m Meeting) []beat {
	set := func(p *Pose) {
		meet(p, m, space.V{X: -0.34, Y: 0.02, Z: -1}, space.V{X: 1, Y: 0.05, Z: -0.2})
		p[FootR].Z = 0.07
	}
	return append(approach(m, 0.45, 0.20),
		beat{-0.13, func(p *Pose) {
			strideTo(p, m, 0.20)
			p[Lean].X = 0.42
			hands(p, m.Point.Add(space.V{X: -0.10, Y: -0.05, Z: 0.58}), space.V{X: -0.62, Y: 0.05, Z: -0.8}, space.V{X: 0.8, Y: 0.1, Z: -0.5})
		}},
		beat{0, set},
		beat{0.12, func(p *Pose) {
			give := 0.03
			if m.Soft {
				give = 0.06
			}
			p[Grip] = p[Grip].Add(space.V{X: -give, Z: 0.01})
		}},
		beat{0.55, func(p *Pose) {}},
	)
}

func flick(m Meeting) []beat {
	aim := heading(m, 1)
	return append(approach(m, 0.8, 0.26),
		beat{-0.11, func(p *Pose) {
			strideTo(p, m, 0.26)
			hands(p, m.Point.Add(space.V{X: -0.28, Y: 0.02, Z: 0.6}), space.V{X: -0.85, Y: 0.25, Z: -0.4}, space.V{X: 0.3, Y: 0.3, Z: 0.7})
		}},
		beat{0, func(p *Pose) {
			meet(p, m, space.V{X: -0.02, Y: 0.16, Z: -1}, space.V{X: 0.85, Y: -0.45, Z: 0.1})
		}},
		beat{0.10, func(p *Pose) {
			p[Turn] = space.V{X: -0.6, Y: -0.75, Z: 0.5}
			hands(p, m.Point.Add(space.V{X: 0.05, Y: -0.2, Z: 0.62}), aim.Mul(0.72).Add(space.V{Z: -0.45}), aim.Mul(0.4).Add(space.V{Y: -0.5, Z: 0.5}))
		}},
		beat{0.24, func(p *Pose) {
			hands(p, m.Point.Add(space.V{X: -0.05, Y: -0.42, Z: 0.8}), aim.Mul(0.6).Add(space.V{Z: 0.7}), space.V{Y: -0.7, Z: -0.4})
		}},
		beat{0.75, func(p *Pose) {}},
	)
}

// sweep goes down on the back knee and swings across from off to leg.
func sweep(m Meeting) []beat {
	low := func(p *Pose, share float64) {
		foot := space.V{X: m.Point.X - 0.42, Y: m.Point.Y - 0.30}
		p[FootL] = space.Mix(p[FootL], foot, share)
		p[ToeL] = space.V{X: 0.95, Y: 0.3}
		p[FootR] = space.V{X: p[FootR].X, Y: -0.18, Z: 0.11 * share}
		p[ToeR] = space.Mix(p[ToeR], space.V{X: 0.75, Y: 0.35, Z: -0.75}, share)
		p[Hip] = space.Mix(p[Hip], space.V{X: foot.X - 0.42, Y: foot.Y - 0.02, Z: 0.52}, share)
		p[Lean] = space.V{X: 0.42, Y: 0.20}
		p[Turn] = space.V{X: -0.7, Y: -0.5, Z: 0.3}
	}
	return []beat{
		{-0.62, func(p *Pose) { lift(p, 0.6); onTheWay(p, m, 0.42, 0.35) }},
		{-0.30, func(p *Pose) {
			low(p, 0.75)
			hands(p, p[Hip].Add(space.V{X: 0.0, Y: 0.38, Z: 0.5}), space.V{X: -0.55, Y: 0.45, Z: 0.7}, space.V{X: 0.3, Y: 0.3, Z: 0.7})
		}},
		{-0.09, func(p *Pose) {
			low(p, 1)
			hands(p, p[Hip].Add(space.V{X: 0.34, Y: 0.34, Z: 0.22}), space.V{X: 0.0, Y: 0.97, Z: 0.1}, space.V{X: 0.95, Y: 0, Z: 0.3})
		}},
		{0, func(p *Pose) {
			p[Turn].Y = -0.9
			meet(p, m, space.V{X: 0.66, Y: 0.66, Z: -0.34}, space.V{X: 0.55, Y: -0.75, Z: 0.12})
		}},
		{0.09, func(p *Pose) {
			p[Turn].Y = -1.3
			hands(p, p[Hip].Add(space.V{X: 0.46, Y: -0.05, Z: 0.26}), space.V{X: 0.85, Y: -0.5, Z: -0.05}, space.V{X: -0.5, Y: -0.8, Z: 0.2})
		}},
		{0.20, func(p *Pose) {
			p[Turn].Y = -1.6
			hands(p, p[Hip].Add(space.V{X: 0.30, Y: -0.30, Z: 0.42}), space.V{X: 0.05, Y: -0.95, Z: 0.3}, space.V{X: -0.9, Y: 0, Z: -0.2})
		}},
		{0.36, func(p *Pose) {
			hands(p, p[Hip].Add(space.V{X: 0.16, Y: -0.26, Z: 0.62}), space.V{X: -0.7, Y: -0.5, Z: 0.5}, space.V{X: -0.3, Y: 0.8, Z: -0.3})
		}},
		{0.95, func(p *Pose) {}},
	}
}
