package measure

import (
	"fmt"
	"math"

	"netreel/media/fault"
)

// Limits of what a calibration must do where the batter stands, metres.
const (
	vagueGround  = 0.10 // standard deviation above which it is warned of
	uselessPlane = 0.25 // and refused
	offCheck     = 0.03 // residual of a check mark above which it is warned of
	wrongCheck   = 0.30 // and refused
)

// settle fills in spread and residuals, and judges them.
func (c *Calibration) settle(in inputs, s *solution) error {
	if err := in.judgeFit(s); err != nil {
		return err
	}
	var err error
	if c.Spread, err = in.spread(s); err != nil && s.camera != nil {
		// A camera that is lost when a click moves is none; the ground may stand.
		s.camera, c.Camera = nil, nil
		c.Spread, err = in.spread(s)
	}
	if err != nil {
		return fault.Wrap(err, fault.Invalid, "", tooFlat)
	}
	ground, camera := looser(s.groundCost, s.groundFree), 1.0
	if s.camera != nil {
		camera = looser(s.cameraCost, s.cameraFree)
	}
	for _, row := range c.Spread {
		for k := range row {
			if k < groundLen {
				row[k] *= ground
			} else if k > groundLen {
				row[k] *= camera
			}
		}
	}
	if err := c.judgePlane(); err != nil {
		return err
	}
	for _, m := range in.marked {
		c.Residuals = append(c.Residuals, c.residual(m))
	}
	for _, m := range in.of(Fit) {
		if m.Weak {
			c.warn("“%s”: the Laws give a least length only. Tape it, or leave it out.", m.Name)
		}
	}
	if ground > 1 {
		worst := c.worst(Fit)
		c.warn("The marks disagree by more than careful clicks do: look at “%s” again (%.1f cm off).", worst.Name, worst.Cm)
	}
	switch {
	case s.camera == nil:
		c.warn("The clicks don't fit a camera whose picture is whole: heights, the head and angles against the vertical can't be measured. Was the picture cropped to one side?")
	case len(in.of(Height)) == 0:
		c.warn("No stump's top was clicked: heights are less sure.")
	case camera > 1 && ground == 1:
		c.warn("The stumps' tops and the ground disagree by more than careful clicks do: heights are less sure. Was the picture cropped to one side?")
	}
	return c.judgeChecks(in)
}

// judgePlane refuses a ground plane that is too unsure where the batter stands.
func (c *Calibration) judgePlane() error {
	pop := c.Pitch.Laws.PoppingFromBowling
	var worst float64
	for _, at := range []Spot{{0, -0.5}, {0, 0.5}, {pop, -0.5}, {pop, 0.5}, {pop + 0.8, 0}} {
		if p, ok := c.Pixel(at); ok {
			worst = max(worst, c.spotSigma(p, ClickSigma))
		}
	}
	switch {
	case !(worst < uselessPlane):
		return fault.New(fault.Invalid, "", tooFlat)
	case worst > vagueGround:
		c.warn("The ground is fixed to ± %.0f cm only: click more marks, or film from nearer or higher up.", 100*worst)
	}
	return nil
}

// judgeFit names the click without which the others agree, when they don't.
func (in inputs) judgeFit(s *solution) error {
	if s.groundFree < 1 || s.groundCost <= misfit*float64(s.groundFree) {
		return nil
	}
	const advice = "Click it again, or leave it out; where the lines were painted elsewhere, use your own points with taped distances."
	best, name := s.groundCost, ""
	for i, m := range in.marked {
		if m.Use != Fit || s.groundFree < 3 {
			continue
		}
		without := in
		without.marked = append(append([]marked(nil), in.marked[:i]...), in.marked[i+1:]...)
		if t, err := without.solve(nil); err == nil && t.groundCost < best {
			best, name = t.groundCost, m.Name
		}
	}
	if name != "" && best < s.groundCost/4 {
		return fault.New(fault.Invalid, "", fmt.Sprintf("“%s” does not lie where the other marks put it. %s", name, advice))
	}
	return fault.New(fault.Invalid, "", "The marks don't fit the pitch's dimensions. Check that each was clicked on its own place and that the pitch's length is right; "+
		"where the lines were painted elsewhere, use your own points with taped distances.")
}

// judgeChecks compares the held-out marks with what the clicks allow for.
func (c *Calibration) judgeChecks(in inputs) error {
	var checks int
	for i, r := range c.Residuals {
		if r.Use != Check {
			continue
		}
		checks++
		off, allowed := r.Cm/100, r.Sigma/100
		m := in.marked[i]
		switch {
		case !(off <= max(wrongCheck, 6*allowed)):
			return fault.New(fault.Invalid, "", fmt.Sprintf("“%s” is %.0f cm off the place that the other clicks give it. "+
				"Check that both ends of the crease were not mixed up and that the pitch's dimensions are right.", m.Name, r.Cm))
		case off > max(offCheck, 3*allowed):
			c.warn("“%s” is %.0f cm off the place that the Laws give it: check the clicks, or tape the lines.", m.Name, r.Cm)
		}
	}
	if checks == 0 {
		c.warn("Nothing was held out as a check: click the foot of the middle stump too.")
	}
	return nil
}

// residual compares a click with where the calibration puts its mark.
func (c *Calibration) residual(m marked) Residual {
	r := Residual{Mark: m.Key, Name: m.Name, Use: m.Use}
	v := c.view()
	if m.Use == Height {
		if c.Camera == nil {
			return r
		}
		x, y, depth := v.project(vec{m.X, m.Y, m.Z})
		flat := v.lens.straighten(m.pixel)
		r.Pixels = math.Hypot(x-flat.X, y-flat.Y)
		r.Cm = 100 * r.Pixels * depth / c.Camera.Focal
		r.Sigma = 100 * m.sigma * depth / c.Camera.Focal
		return r
	}
	if p, ok := v.pixel(m.X, m.Y); ok {
		r.Pixels = math.Hypot(p.X-m.pixel.X, p.Y-m.pixel.Y)
	}
	at, err := v.ground(m.pixel)
	if err != nil {
		r.Cm = math.MaxFloat32
		return r
	}
	r.Along, r.Across = 100*(at.X-m.X), 100*(at.Y-m.Y)
	r.Cm = math.Hypot(r.Along, r.Across)
	r.Sigma = 100 * c.spotSigma(m.pixel, m.sigma)
	return r
}

// worst is the residual of a use that is farthest off.
func (c *Calibration) worst(use Use) Residual {
	var w Residual
	for _, r := range c.Residuals {
		if r.Use == use && r.Pixels >= w.Pixels {
			w = r
		}
	}
	return w
}
