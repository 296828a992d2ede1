// Package space holds the arithmetic of points and cameras in the frame of
// the pitch (package laws): x towards the bowler, y to the off side, z up,
// metres. That order is left-handed, so Cross follows the usual formula but
// its result obeys the left hand.
//
// It must not know what stands in the space or how it is painted.
package space

import "math"

// V is a point or a direction.
type V struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
	Z float64 `json:"z"`
}

// Add returns a + b.
func (a V) Add(b V) V { return V{a.X + b.X, a.Y + b.Y, a.Z + b.Z} }

// Sub returns a - b.
func (a V) Sub(b V) V { return V{a.X - b.X, a.Y - b.Y, a.Z - b.Z} }

// Mul returns a scaled by k.
func (a V) Mul(k float64) V { return V{a.X * k, a.Y * k, a.Z * k} }

// Along returns a + k·d.
func (a V) Along(d V, k float64) V { return V{a.X + k*d.X, a.Y + k*d.Y, a.Z + k*d.Z} }

// Dot returns the scalar product.
func (a V) Dot(b V) float64 { return a.X*b.X + a.Y*b.Y + a.Z*b.Z }

// Cross returns the vector product by the usual formula.
func (a V) Cross(b V) V {
	return V{a.Y*b.Z - a.Z*b.Y, a.Z*b.X - a.X*b.Z, a.X*b.Y - a.Y*b.X}
}

// Len returns the length.
func (a V) Len() float64 { return math.Sqrt(a.Dot(a)) }

// Unit returns a scaled to length 1; a zero vector gives z up, so that a
// blend through zero never makes NaN.
func (a V) Unit() V {
	l := a.Len()
	if l < 1e-12 {
		return V{Z: 1}
	}
	return a.Mul(1 / l)
}

// Mix returns a at k = 0, b at k = 1 and the straight line between.
func Mix(a, b V, k float64) V { return a.Along(b.Sub(a), k) }

// Across returns the part of a that is at right angles to the unit vector u,
// scaled to length 1.
func (a V) Across(u V) V { return a.Along(u, -a.Dot(u)).Unit() }

// Heading returns the unit vector in the ground plane at angle radians from x
// towards y.
func Heading(angle float64) V { return V{X: math.Cos(angle), Y: math.Sin(angle)} }

// SegmentDistance returns the distance of p from the segment a-b and the
// share of the way from a to b of the nearest point.
func SegmentDistance(p, a, b V) (distance, share float64) {
	d := b.Sub(a)
	if l := d.Dot(d); l > 0 {
		share = min(1, max(0, p.Sub(a).Dot(d)/l))
	}
	return p.Sub(a.Along(d, share)).Len(), share
}
