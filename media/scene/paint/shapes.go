package paint

import (
	"math"

	"netreel/media/scene/space"
)

// Capsule fills the outline round two circles: a limb. The brush's colour is
// given a sheen across the limb, lighter by lit on the side that faces up and
// to the left.
func (p *Painter) Capsule(a space.P, ra float64, b space.P, rb float64, brush Brush, lit float64) {
	p.points = capsule(p.points[:0], a, ra, b, rb)
	if lit != 0 {
		brush = sheen(brush, a, b, max(ra, rb), lit)
	}
	p.Polygon(p.points, brush)
}

// Circle fills a circle with a sheen from the upper left.
func (p *Painter) Circle(at space.P, r float64, brush Brush, lit float64) {
	p.Capsule(at, r, at, r, brush, lit)
}

// light is the direction the light comes from in the picture.
var light = space.P{X: -0.42, Y: -0.91}

func sheen(b Brush, a, c space.P, r, lit float64) Brush {
	dx, dy := c.X-a.X, c.Y-a.Y
	n := light
	if l := math.Hypot(dx, dy); l > r/2 {
		n = space.P{X: -dy / l, Y: dx / l}
		if n.X*light.X+n.Y*light.Y < 0 {
			n = space.P{X: dy / l, Y: -dx / l}
		}
	}
	b.Middle = space.P{X: (a.X + c.X) / 2, Y: (a.Y + c.Y) / 2}
	b.Sheen = space.P{X: n.X * lit / max(r, 0.5), Y: n.Y * lit / max(r, 0.5)}
	b.Most = lit
	return b
}

// capsule appends the outline of the hull of two circles.
func capsule(to []space.P, a space.P, ra float64, b space.P, rb float64) []space.P {
	dx, dy := b.X-a.X, b.Y-a.Y
	d := math.Hypot(dx, dy)
	if d <= math.Abs(ra-rb)+1e-9 { // one circle lies within the other
		if rb > ra {
			a, ra = b, rb
		}
		return arc(to, a, ra, 0, 2*math.Pi)
	}
	along := math.Atan2(dy, dx)
	// The tangents touch both circles at this angle from the axis.
	open := math.Acos((ra - rb) / d)
	to = arc(to, a, ra, along+open, along+2*math.Pi-open)
	return arc(to, b, rb, along-open, along+open)
}

// arc appends points on a circle from angle s to angle e, as many as the size
// needs to look round.
func arc(to []space.P, c space.P, r, s, e float64) []space.P {
	n := 2 + int(math.Sqrt(max(0, r))*1.6*math.Abs(e-s)/math.Pi)
	for i := 0; i <= n; i++ {
		sin, cos := math.Sincos(s + (e-s)*float64(i)/float64(n))
		to = append(to, space.P{X: c.X + r*cos, Y: c.Y + r*sin})
	}
	return to
}
