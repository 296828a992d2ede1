package scene

import (
	"math"
	"sync"

	"netreel/media/scene/body"
	"netreel/media/scene/paint"
	"netreel/media/scene/space"
)

// stage is what does not change from frame to frame.
type stage struct {
	camera  space.Camera
	empty   *paint.Canvas // the hall and all that stands behind the neighbours
	room    *paint.Canvas // with the net between them and us
	between *paint.Veil
	front   *paint.Veil
	margin  int // pixels painted beyond each edge, for a picture that shakes
}

// newStage paints the hall once.
func (s *Show) newStage() *stage {
	st := &stage{camera: s.camera}
	if s.set.Shake > 0 {
		st.margin = 2 * (8 + s.set.Height/24)
		st.camera.CX += float64(st.margin)
		st.camera.CY += float64(st.margin)
	}
	w, h := s.set.Width+2*st.margin, s.set.Height+2*st.margin
	behind, between, front := s.hall.nettings(st.camera.Eye)
	st.empty = paint.NewCanvas(w, h)
	s.hall.paint(st.empty, st.camera)
	furnish(st.empty, st.camera, s.hall)
	var wait sync.WaitGroup
	var back *paint.Veil
	wait.Go(func() { back = veil(behind, st.camera, w, h) })
	wait.Go(func() { st.between = veil(between, st.camera, w, h) })
	wait.Go(func() { st.front = veil(front, st.camera, w, h) })
	wait.Wait()
	st.empty.Hang(back)
	st.room = paint.NewCanvas(w, h)
	st.room.CopyFrom(st.empty)
	st.room.Hang(st.between)
	return st
}

// furnish paints what stands along the walls.
func furnish(c *paint.Canvas, cam space.Camera, h *hall) {
	p := paint.NewPainter(c)
	var m paint.Model
	m.Reset(cam)
	wood := paint.Skin{Colour: paint.RGB(190, 158, 116), Lit: 8, Plain: true}
	leg := paint.Skin{Colour: paint.RGB(110, 112, 116), Plain: true}
	bags := []paint.Colour{paint.RGB(78, 94, 112), paint.RGB(150, 92, 84), paint.RGB(74, 112, 112), paint.RGB(120, 112, 136)}
	y := h.y0 + 0.45
	for i, x := range []float64{-1.6, 2.2, 7.4, 11.6, 16} {
		shadow(p, cam, space.V{X: x + 1, Y: y}, 1.3, 0.30)
		m.Capsule(space.V{X: x, Y: y, Z: 0.42}, 0.05, space.V{X: x + 2, Y: y, Z: 0.42}, 0.05, wood)
		for _, dx := range []float64{0.15, 1.85} {
			m.Capsule(space.V{X: x + dx, Y: y, Z: 0.38}, 0.025, space.V{X: x + dx, Y: y, Z: 0.02}, 0.025, leg)
		}
		for k := range 2 {
			at := space.V{X: x + 0.45 + 1.05*float64(k), Y: y + 0.42, Z: 0.16}
			bag := paint.Skin{Colour: bags[(i+k)%len(bags)], Lit: 9, Plain: true}
			m.Capsule(at, 0.16, at.Add(space.V{X: 0.62}), 0.15, bag)
		}
	}
	// Stumps of the lanes beside ours.
	for lane := -2; lane <= 3; lane++ {
		if lane != 0 && lane != -1 {
			wicket(&m, space.V{Y: float64(lane) * laneWidth}, 0)
		}
	}
	wicket(&m, besideShift, 0)
	m.Paint(p)
}

// wicket adds three stumps, bails and the plate they stand on; tilt leans them
// back, radians.
func wicket(m *paint.Model, at space.V, tilt float64) {
	wood := paint.Skin{Colour: paint.RGB(226, 196, 138), Lit: 10}
	plate := paint.Skin{Colour: paint.RGB(70, 80, 88), Plain: true}
	m.Capsule(at.Add(space.V{Y: -0.14, Z: 0.015}), 0.02, at.Add(space.V{Y: 0.14, Z: 0.015}), 0.02, plate)
	sin, cos := math.Sincos(tilt)
	for i := -1; i <= 1; i++ {
		foot := at.Add(space.V{Y: 0.0953 * float64(i), Z: 0.02})
		m.Capsule(foot, 0.018, foot.Add(space.V{X: -0.69 * sin, Z: 0.69 * cos}), 0.017, wood)
	}
	if tilt == 0 {
		top := at.Add(space.V{Z: 0.717})
		m.Capsule(top.Add(space.V{Y: -0.1}), 0.009, top.Add(space.V{Y: 0.1}), 0.009, wood)
	}
}

// tilt is how far the stumps lean at a time after being hit: on a spring.
func (s *Show) tilt(t float64) float64 {
	lean := 0.0
	for _, w := range s.wickets {
		if u := t - w.at; u >= 0 && u < 2 {
			lean = 0.75 * (0.35 + 0.65*w.hard) * math.Exp(-u/0.32) * math.Sin(2*math.Pi*1.7*u+0.25)
		}
	}
	return lean
}

// shadow darkens the ground softly under something of a radius in metres.
func shadow(p *paint.Painter, cam space.Camera, at space.V, r, strength float64) {
	at.Z = 0
	c, depth, ok := cam.Project(at)
	if !ok {
		return
	}
	toward := space.V{X: cam.Forward.X, Y: cam.Forward.Y}.Unit()
	far, _, ok := cam.Project(at.Along(toward, r))
	if !ok {
		return
	}
	p.Blob(c, r*cam.Scale(depth), math.Abs(c.Y-far.Y), strength)
}

// stand adds a person with a shadow.
func stand(p *paint.Painter, m *paint.Model, cam space.Camera, s *body.Skeleton, l *body.Look) {
	k := 1 - 0.5*l.Dim
	shadow(p, cam, s.Hip, 0.62, 0.26*k)
	for side := range 2 {
		f := space.Mix(s.Heel[side], s.Toe[side], 0.4)
		shadow(p, cam, f, 0.22, 0.34*k*math.Exp(-max(0, f.Z-0.03)*5))
	}
	body.Draw(m, s, l)
}

// drawMachine adds a bowling machine: two wheels on a tripod.
func drawMachine(m *paint.Model, at space.V) {
	metal := paint.Skin{Colour: paint.RGB(84, 92, 100), Lit: 8}
	shell := paint.Skin{Colour: paint.RGB(46, 92, 104), Lit: 10}
	tyre := paint.Skin{Colour: paint.RGB(56, 58, 62), Lit: 8}
	head := at.Add(space.V{Z: 1.72})
	for i := range 3 {
		a := 2*math.Pi*float64(i)/3 + math.Pi
		m.Capsule(head.Add(space.V{Z: -0.12}), 0.022, at.Along(space.Heading(a), 0.55).Add(space.V{Z: 0.02}), 0.018, metal)
	}
	m.Hull([]paint.Ball{{At: head.Add(space.V{X: 0.22, Y: 0.12}), R: 0.09}, {At: head.Add(space.V{X: 0.22, Y: -0.12}), R: 0.09},
		{At: head.Add(space.V{X: -0.05, Y: 0.1, Z: -0.04}), R: 0.07}, {At: head.Add(space.V{X: -0.05, Y: -0.1, Z: -0.04}), R: 0.07}}, shell)
	for _, side := range []float64{-1, 1} {
		hub := head.Add(space.V{X: -0.04, Y: side * 0.05, Z: 0.06 + side*0.17})
		m.Capsule(hub, 0.15, hub, 0.15, tyre)
		m.Capsule(hub, 0.05, hub, 0.05, metal)
	}
}
