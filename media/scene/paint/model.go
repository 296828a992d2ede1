package paint

import (
	"cmp"
	"math"
	"slices"

	"netreel/media/scene/space"
)

// Ball is a sphere in space.
type Ball struct {
	At space.V
	R  float64
}

// Skin is how a part of a model looks.
type Skin struct {
	Colour  Colour
	Lit     float64 // steps of luma from the middle to the lit side
	Opacity float64 // 0 means opaque
	Nearer  float64 // metres by which the part is moved forward in the order of painting
	Plain   bool    // no soft dark rim
	Onto    bool    // painted right after the part that was added before it, whatever the depth
}

// Model collects what stands in space and paints it from the farthest to the
// nearest part.
type Model struct {
	camera  space.Camera
	parts   []part
	flat    []space.P
	radii   []float64 // pixels, beside flat; for chains only
	scratch []space.P
}

type part struct {
	depth    float64
	from, to int // in flat: an outline, or the joints of a chain
	chain    bool
	skin     Skin
	rim      float64 // pixels
}

// rimWidth is the width of the soft rim that sets a part off from what lies
// behind it, metres.
const rimWidth = 0.006

// Reset empties the model and looks at it through a camera.
func (m *Model) Reset(c space.Camera) {
	m.camera = c
	m.parts = m.parts[:0]
	m.flat = m.flat[:0]
	m.radii = m.radii[:0]
}

// Capsule adds a limb from a to b with a radius at each end.
func (m *Model) Capsule(a space.V, ra float64, b space.V, rb float64, skin Skin) {
	m.Chain([]Ball{{a, ra}, {b, rb}}, skin)
}

// Chain adds a limb of several bones: one rim round all of them.
func (m *Model) Chain(joints []Ball, skin Skin) {
	from := len(m.flat)
	depth := 0.0
	for _, j := range joints {
		p, d, ok := m.camera.Project(j.At)
		if !ok {
			m.flat, m.radii = m.flat[:from], m.radii[:from]
			return
		}
		depth += d / float64(len(joints))
		m.flat = append(m.flat, p)
		m.radii = append(m.radii, j.R*m.camera.Scale(d))
	}
	m.add(from, depth, skin)
	m.parts[len(m.parts)-1].chain = true
}

// Hull adds the convex outline round balls.
func (m *Model) Hull(balls []Ball, skin Skin) {
	m.scratch = m.scratch[:0]
	depth := 0.0
	for _, b := range balls {
		p, d, ok := m.camera.Project(b.At)
		if !ok {
			return
		}
		depth += d / float64(len(balls))
		if r := b.R * m.camera.Scale(d); r < 0.3 {
			m.scratch = append(m.scratch, p)
		} else {
			m.scratch = arc(m.scratch, p, r, 0, 2*math.Pi)
		}
	}
	from := len(m.flat)
	m.flat = appendHull(m.flat, m.scratch)
	m.add(from, depth, skin)
}

// Line adds a thin line through points, its width in metres.
func (m *Model) Line(points []space.V, width float64, skin Skin) {
	skin.Plain = true
	joints := make([]Ball, len(points))
	for i, p := range points {
		joints[i] = Ball{p, width / 2}
	}
	m.Chain(joints, skin)
}

func (m *Model) add(from int, depth float64, skin Skin) {
	for len(m.radii) < len(m.flat) {
		m.radii = append(m.radii, 0)
	}
	rim := rimWidth * m.camera.Scale(depth)
	depth -= skin.Nearer
	if n := len(m.parts); skin.Onto && n > 0 {
		depth = m.parts[n-1].depth - 1e-6
	}
	m.parts = append(m.parts, part{depth: depth, from: from, to: len(m.flat), skin: skin, rim: rim})
}

// Paint paints the model.
func (m *Model) Paint(p *Painter) {
	slices.SortStableFunc(m.parts, func(a, b part) int { return cmp.Compare(b.depth, a.depth) })
	for i := range m.parts {
		q := &m.parts[i]
		b := Solid(q.skin.Colour)
		if q.skin.Opacity > 0 {
			b.Opacity = q.skin.Opacity
		}
		pts := m.flat[q.from:q.to]
		if q.chain {
			r := m.radii[q.from:q.to]
			for i := 1; i < len(pts) && !q.skin.Plain; i++ {
				p.Capsule(pts[i-1], r[i-1]+q.rim, pts[i], r[i]+q.rim, rim(q.skin), 0)
			}
			for i := 1; i < len(pts); i++ {
				p.Capsule(pts[i-1], r[i-1], pts[i], r[i], b, q.skin.Lit)
			}
			continue
		}
		if !q.skin.Plain {
			m.scratch = grow(m.scratch[:0], pts, q.rim)
			p.Polygon(m.scratch, rim(q.skin))
		}
		if q.skin.Lit != 0 {
			a, c, r := axis(pts)
			b = sheen(b, a, c, r, q.skin.Lit)
		}
		p.Polygon(pts, b)
	}
}

// rim is the brush of a part's soft dark edge.
func rim(s Skin) Brush {
	c := s.Colour
	c.Y = uint8(16 + (int(c.Y)-16)*2/5)
	return Brush{Colour: c, Opacity: 0.5}
}

// axis gives a line through an outline's middle along its longer side, and
// half its width, for the sheen.
func axis(pts []space.P) (a, b space.P, r float64) {
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, q := range pts {
		x0, x1 = min(x0, q.X), max(x1, q.X)
		y0, y1 = min(y0, q.Y), max(y1, q.Y)
	}
	mx, my := (x0+x1)/2, (y0+y1)/2
	if x1-x0 > y1-y0 {
		return space.P{X: x0, Y: my}, space.P{X: x1, Y: my}, (y1 - y0) / 2
	}
	return space.P{X: mx, Y: y0}, space.P{X: mx, Y: y1}, (x1 - x0) / 2
}

// grow appends an outline moved outwards from its middle by d.
func grow(to, pts []space.P, d float64) []space.P {
	var cx, cy float64
	for _, q := range pts {
		cx += q.X / float64(len(pts))
		cy += q.Y / float64(len(pts))
	}
	for _, q := range pts {
		dx, dy := q.X-cx, q.Y-cy
		l := max(1e-6, math.Hypot(dx, dy))
		to = append(to, space.P{X: q.X + dx/l*d, Y: q.Y + dy/l*d})
	}
	return to
}

// appendHull appends the convex hull of points (Andrew's monotone chain); it
// reorders points.
func appendHull(to, points []space.P) []space.P {
	slices.SortFunc(points, func(a, b space.P) int {
		switch {
		case a.X < b.X || a.X == b.X && a.Y < b.Y:
			return -1
		case a == b:
			return 0
		}
		return 1
	})
	start := len(to)
	turn := func(a, b, c space.P) float64 { return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X) }
	chain := func(q space.P, floor int) {
		for len(to) >= floor+2 && turn(to[len(to)-2], to[len(to)-1], q) <= 0 {
			to = to[:len(to)-1]
		}
		to = append(to, q)
	}
	for _, q := range points {
		chain(q, start)
	}
	floor := len(to) - 1
	for i := len(points) - 2; i >= 0; i-- {
		chain(points[i], floor)
	}
	return to[:max(start, len(to)-1)]
}

// Eye is where the model is looked at from.
func (m *Model) Eye() space.V { return m.camera.Eye }
