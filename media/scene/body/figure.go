package body

import (
	"math"

	"netreel/media/scene/paint"
	"netreel/media/scene/space"
)

var (
	willow   = paint.RGB(222, 190, 140)
	willowIn = paint.RGB(196, 160, 112)
	rubber   = paint.RGB(52, 66, 92)
	steel    = paint.RGB(150, 158, 168)
)

// Draw adds a person to a model.
func Draw(m *paint.Model, s *Skeleton, l *Look) {
	drawTrunk(m, s, l)
	for side := range 2 {
		drawLeg(m, s, l, side)
		drawArm(m, s, l, side)
	}
	drawHead(m, s, l)
	if s.HasBat && l.BatWidth > 0 {
		drawBat(m, s, l)
	}
}

func drawTrunk(m *paint.Model, s *Skeleton, l *Look) {
	k := s.K
	hips := []paint.Ball{
		{At: s.Hip.Along(s.Pelvis.Left, 0.085*k).Along(s.Pelvis.Up, -0.03*k), R: 0.085 * k},
		{At: s.Hip.Along(s.Pelvis.Left, -0.085*k).Along(s.Pelvis.Up, -0.03*k), R: 0.085 * k},
		{At: s.Hip.Along(s.Pelvis.Front, -0.035*k), R: 0.095 * k},
		{At: s.Waist.Along(s.Pelvis.Up, -0.03*k), R: 0.105 * k},
	}
	seat := l.skin(l.Trousers, 9)
	seat.Nearer = -0.08
	m.Hull(hips, seat)
	chest := s.Waist.Along(s.Chest.Up, 0.17*k)
	shirt := []paint.Ball{
		{At: s.Hip.Along(s.Pelvis.Left, 0.06*k).Along(s.Pelvis.Up, 0.03*k), R: 0.088 * k},
		{At: s.Hip.Along(s.Pelvis.Left, -0.06*k).Along(s.Pelvis.Up, 0.03*k), R: 0.088 * k},
		{At: s.Waist, R: 0.105 * k},
		{At: chest.Along(s.Chest.Front, 0.035*k).Along(s.Chest.Left, 0.05*k), R: 0.09 * k},
		{At: chest.Along(s.Chest.Front, 0.035*k).Along(s.Chest.Left, -0.05*k), R: 0.09 * k},
		{At: s.Shoulder[0].Along(s.Chest.Left, -0.012*k).Along(s.Chest.Up, -0.01*k), R: 0.058 * k},
		{At: s.Shoulder[1].Along(s.Chest.Left, 0.012*k).Along(s.Chest.Up, -0.01*k), R: 0.058 * k},
		{At: s.Neck.Along(s.Chest.Up, 0.012*k), R: 0.058 * k},
	}
	skin := l.skin(l.Shirt, 13)
	skin.Nearer = 0.02
	m.Hull(shirt, skin)
	neck := l.skin(l.SkinTone, 8)
	m.Capsule(s.Neck.Along(s.Chest.Up, -0.01*k), 0.05*k, space.Mix(s.Neck, s.Head, 0.6), 0.046*k, neck)
}

func drawArm(m *paint.Model, s *Skeleton, l *Look, side int) {
	k := s.K
	sh, el, wr, hand := s.Shoulder[side], s.Elbow[side], s.Wrist[side], s.Hand[side]
	skin := l.skin(l.SkinTone, 11)
	sleeve := l.skin(l.Sleeve, 12)
	sleeve.Nearer = 0.03
	if l.LongSleeves {
		m.Chain([]paint.Ball{{At: sh, R: 0.058 * k}, {At: el, R: 0.045 * k}, {At: wr, R: 0.034 * k}}, sleeve)
	} else {
		m.Chain([]paint.Ball{{At: sh, R: 0.05 * k}, {At: el, R: 0.039 * k}, {At: wr, R: 0.029 * k}}, skin)
		cuff := l.skin(l.Cuff, 10)
		cuff.Onto, sleeve.Onto = true, true
		m.Capsule(space.Mix(sh, el, 0.3), 0.055*k, space.Mix(sh, el, 0.68), 0.0535*k, cuff)
		m.Capsule(sh, 0.06*k, space.Mix(sh, el, 0.54), 0.055*k, sleeve)
	}
	if !l.Pads {
		m.Capsule(wr, 0.032*k, hand, 0.037*k, skin)
		return
	}
	glove := l.skin(l.GloveColour, 12)
	glove.Nearer = 0.05
	cuff := space.Mix(wr, el, 0.24)
	m.Capsule(cuff, 0.05*k, wr, 0.045*k, glove)
	fingers := l.skin(l.GloveColour, 10)
	fingers.Nearer = 0.07
	m.Capsule(wr, 0.05*k, hand, 0.053*k, fingers)
	if s.HasBat && hand.Sub(s.Grip).Len() < 0.12 {
		// Finger rolls lie across the handle on its face side.
		roll := l.skin(l.GloveColour.Lighter(-14), 6)
		roll.Nearer = 0.08
		across := s.Blade.Cross(s.Face)
		for i := range 3 {
			at := hand.Along(s.Blade, 0.028*float64(i-1)).Along(s.Face, 0.022)
			m.Capsule(at.Along(across, -0.026*k), 0.014*k, at.Along(across, 0.026*k), 0.014*k, roll)
		}
	}
}

func drawLeg(m *paint.Model, s *Skeleton, l *Look, side int) {
	k := s.K
	hip, knee, foot := s.HipJoint[side], s.Knee[side], s.Ankle[side]
	cloth := l.skin(l.Trousers, 12)
	m.Chain([]paint.Ball{{At: hip, R: 0.094 * k}, {At: knee, R: 0.062 * k},
		{At: foot.Along(space.V{Z: 1}, 0.03*k), R: 0.044 * k}}, cloth)
	shoe := l.skin(l.Shoes, 10)
	heel, toe := s.Heel[side], s.Toe[side]
	m.Capsule(heel.Along(space.V{Z: 1}, 0.022*k), 0.043*k, toe.Along(space.V{Z: 1}, 0.008*k), 0.031*k, shoe)
	m.Capsule(foot, 0.046*k, space.Mix(heel, toe, 0.45).Along(space.V{Z: 1}, 0.02*k), 0.043*k, shoe)
	sole := l.skin(rubber, 0)
	sole.Nearer, sole.Plain = 0.02, true
	m.Capsule(heel.Along(space.V{Z: 1}, -0.012*k), 0.011*k, toe.Along(space.V{Z: 1}, -0.014*k), 0.01*k, sole)
	if l.Pads {
		drawPad(m, s, l, side)
	}
}

// drawPad adds a batting pad: a long shield on the shin with ribs, a knee roll
// and a top flap.
func drawPad(m *paint.Model, s *Skeleton, l *Look, side int) {
	k := s.K
	knee, foot := s.Knee[side], s.Ankle[side]
	down := foot.Sub(knee).Unit()
	ahead := s.Toe[side].Sub(s.Heel[side]).Across(down)
	across := down.Cross(ahead)
	face := func(at space.V, out float64) space.V { return at.Along(ahead, out*k) }
	body := l.skin(l.PadColour, 13)
	body.Nearer = 0.03
	low := face(foot.Along(down, 0.025*k), 0.035)
	top := face(knee.Along(down, 0.05*k), 0.04)
	m.Capsule(top, 0.086*k, face(space.Mix(knee, s.HipJoint[side], 0.34).Along(down, -0.02*k), 0.06), 0.07*k, body)
	body.Onto = true
	m.Capsule(top, 0.088*k, low, 0.07*k, body)
	rib := l.skin(l.PadColour.Lighter(-26), 0)
	rib.Plain, rib.Onto, rib.Opacity = true, true, 0.75
	for _, u := range []float64{-0.035, 0, 0.035} {
		from := face(top, 0.075).Along(across, u*k)
		m.Line([]space.V{from.Along(down, 0.03*k), face(low, 0.055).Along(across, u*0.8*k).Along(down, -0.03*k)}, 0.008*k, rib)
	}
	roll := l.skin(l.PadColour.Lighter(-8), 9)
	roll.Onto = true
	for i := range 2 {
		at := face(knee.Along(down, (float64(i)*0.055-0.02)*k), 0.058)
		m.Capsule(at.Along(across, -0.055*k), 0.03*k, at.Along(across, 0.055*k), 0.03*k, roll)
	}
	strap := l.skin(l.PadColour.Lighter(-40), 0)
	strap.Nearer, strap.Plain = 0.005, true
	for _, at := range []float64{0.3, 0.7} {
		mid := space.Mix(knee, foot, at)
		behind := mid.Along(ahead, -0.058*k)
		m.Line([]space.V{mid.Along(across, -0.066*k), behind.Along(across, -0.03*k), behind.Along(across, 0.03*k), mid.Along(across, 0.066*k)}, 0.022*k, strap)
	}
}

func drawBat(m *paint.Model, s *Skeleton, l *Look) {
	side := s.Blade.Cross(s.Face).Unit()
	at := func(along, across, out float64) space.V {
		return s.BatPoint(along).Along(side, across).Along(s.Face, out)
	}
	m.Capsule(at(handleTop, 0, 0), 0.017, at(bladeTop, 0, 0), 0.016, l.skin(rubber, 8))
	w := l.BatWidth / 2
	// Corners of the blade: a face, a back that swells towards the toe.
	var face, back []paint.Ball
	for _, e := range []float64{-1, 1} {
		face = append(face,
			paint.Ball{At: at(bladeTop+0.035, e*w, 0.012)}, paint.Ball{At: at(bladeTop, e*w*0.55, 0.010)},
			paint.Ball{At: at(batToe-0.02, e*w, 0.012)}, paint.Ball{At: at(batToe, e*w*0.75, 0.010)})
		back = append(back,
			paint.Ball{At: at(bladeTop+0.03, e*w, -0.008)}, paint.Ball{At: at(batToe-0.02, e*w, -0.02)},
			paint.Ball{At: at(batToe, e*w*0.7, -0.018)})
	}
	spine := append(back, paint.Ball{At: at(bladeTop, 0, -0.02)}, paint.Ball{At: at(sweetSpot, 0, -0.046)},
		paint.Ball{At: at(batToe-0.02, 0, -0.035)})
	toward := s.Face.Dot(m.Eye().Sub(s.BatPoint(0.4)).Unit())
	whole := l.skin(willowIn, 7)
	m.Hull(append(append([]paint.Ball{}, face...), spine...), whole)
	if toward > 0.02 {
		front := l.skin(willow, 8)
		front.Onto, front.Plain = true, true
		m.Hull(face, front)
	} else {
		// The ridge catches the light.
		ridge := l.skin(willow, 0)
		ridge.Onto, ridge.Plain, ridge.Opacity = true, true, 0.55
		m.Line([]space.V{at(bladeTop+0.06, 0, -0.024), at(sweetSpot, 0, -0.046), at(batToe-0.03, 0, -0.036)}, 0.012, ridge)
	}
}

func drawHead(m *paint.Model, s *Skeleton, l *Look) {
	k := s.K
	f := s.Skull
	at := func(left, front, up float64) space.V {
		return s.Head.Along(f.Left, left*k).Along(f.Front, front*k).Along(f.Up, up*k)
	}
	face := l.skin(l.SkinTone, 10)
	m.Hull([]paint.Ball{
		{At: at(0, 0.005, 0.02), R: 0.088 * k}, {At: at(0, -0.03, 0.02), R: 0.078 * k},
		{At: at(0, 0.045, -0.06), R: 0.042 * k}, {At: at(0, 0.055, 0), R: 0.05 * k},
	}, face)
	hair := l.skin(l.Hair, 9)
	if l.Ponytail {
		tail := hair
		m.Capsule(at(0, -0.085, 0.0), 0.038*k, at(0, -0.135, -0.10), 0.03*k, tail)
		m.Capsule(at(0, -0.135, -0.10), 0.03*k, at(0, -0.12, -0.19), 0.012*k, tail)
	}
	if l.HeadWear == Helmet { // it hides all other hair
		drawHelmet(m, at, l)
		return
	}
	hair.Nearer = 0.012
	m.Hull(dome(at, 0.1, hairline), hair)
	if l.HeadWear == Cap {
		drawCap(m, at, l)
	}
}

// dome gives points of a shell round the head, down to a line that depends
// on the bearing from the front.
func dome(at func(l, f, u float64) space.V, r float64, lowest func(bearing float64) float64) []paint.Ball {
	var out []paint.Ball
	const around, rings = 24, 5
	for i := range around {
		bearing := 2 * math.Pi * float64(i) / around
		low := lowest(bearing)
		for j := range rings {
			el := low + (math.Pi/2-low)*float64(j)/rings
			sin, cos := math.Sincos(el)
			out = append(out, paint.Ball{At: at(r*cos*math.Sin(bearing), r*cos*math.Cos(bearing)*1.08-0.012, r*sin+0.02)})
		}
	}
	return append(out, paint.Ball{At: at(0, -0.012, r+0.02)})
}

// The lowest elevation of hair, cap and helmet by bearing from the front.
func hairline(b float64) float64   { return 0.52 - 0.5*(1-math.Cos(b)) }
func capLine(b float64) float64    { return 0.22 - 0.16*(1-math.Cos(b)) }
func helmetLine(b float64) float64 { return 0.12 - 0.36*(1-math.Cos(b)) }

func drawCap(m *paint.Model, at func(l, f, u float64) space.V, l *Look) {
	skin := l.skin(l.HeadColour, 12)
	skin.Nearer = 0.02
	m.Hull(dome(at, 0.107, capLine), skin)
	m.Hull(peak(at, 0.105, 0.075, capLine(0), 0.8), skin)
}

func drawHelmet(m *paint.Model, at func(l, f, u float64) space.V, l *Look) {
	skin := l.skin(l.HeadColour, 16)
	skin.Nearer = 0.03
	m.Hull(dome(at, 0.127, helmetLine), skin)
	shade := l.skin(l.HeadColour.Lighter(-12), 6)
	shade.Nearer = 0.035
	m.Hull(peak(at, 0.125, 0.06, helmetLine(0), 0.9), shade)
	bar := l.skin(steel, 0)
	for i := range 4 {
		up := -0.012 - 0.030*float64(i)
		var arcs []space.V
		for j := -4; j <= 4; j++ {
			b := 0.31 * float64(j)
			arcs = append(arcs, at(0.118*math.Sin(b), 0.135*math.Cos(b)-0.006*float64(i), up+0.02))
		}
		m.Line(arcs, 0.007, bar)
	}
	for _, side := range []float64{-1, 1} {
		m.Line([]space.V{at(side*0.05, 0.118, 0.03), at(side*0.045, 0.102, -0.085)}, 0.006, bar)
		// Ear piece.
		ear := skin
		ear.Nearer = 0.01
		m.Capsule(at(side*0.10, -0.005, -0.01), 0.045, at(side*0.085, 0.01, -0.055), 0.03, ear)
	}
}

// peak gives the outline of a peak that stands out from a shell of radius r.
func peak(at func(l, f, u float64) space.V, r, out, el, spread float64) []paint.Ball {
	var balls []paint.Ball
	for j := -3; j <= 3; j++ {
		b := spread * float64(j) / 3
		reach := out * math.Cos(b*1.3)
		for _, e := range []float64{0, reach} {
			balls = append(balls, paint.Ball{At: at((r+e*0.5)*math.Sin(b)*math.Cos(el), (r*1.08+e)*math.Cos(b)*math.Cos(el)-0.012,
				r*math.Sin(el)+0.02-e*0.28), R: 0.006})
		}
	}
	return balls
}
