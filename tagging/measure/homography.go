package measure

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Pixel is a place in the picture.
type Pixel struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

// Spot is a place on a plane, metres; on the ground X runs towards the bowler
// and Y to the off side of a right-hander.
type Spot struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

// homography is a 3 x 3 matrix by rows that maps homogeneous places of one
// plane to those of another, up to scale.
type homography [9]float64

// apply maps (x, y); w is the third homogeneous coordinate, whose sign says on
// which side of the vanishing line the point lies.
func (h *homography) apply(x, y float64) (u, v, w float64) {
	w = h[6]*x + h[7]*y + h[8]
	return (h[0]*x + h[1]*y + h[2]) / w, (h[3]*x + h[4]*y + h[5]) / w, w
}

func (h *homography) times(b *homography) homography {
	var c homography
	for i := range 3 {
		for j := range 3 {
			c[3*i+j] = h[3*i]*b[j] + h[3*i+1]*b[3+j] + h[3*i+2]*b[6+j]
		}
	}
	return c
}

func (h *homography) det() float64 {
	return h[0]*(h[4]*h[8]-h[5]*h[7]) - h[1]*(h[3]*h[8]-h[5]*h[6]) + h[2]*(h[3]*h[7]-h[4]*h[6])
}

// inverse by cofactors: exact enough for 3 x 3, and no error to handle where
// the determinant was looked at before.
func (h *homography) inverse() homography {
	d := h.det()
	return homography{
		(h[4]*h[8] - h[5]*h[7]) / d, (h[2]*h[7] - h[1]*h[8]) / d, (h[1]*h[5] - h[2]*h[4]) / d,
		(h[5]*h[6] - h[3]*h[8]) / d, (h[0]*h[8] - h[2]*h[6]) / d, (h[2]*h[3] - h[0]*h[5]) / d,
		(h[3]*h[7] - h[4]*h[6]) / d, (h[1]*h[6] - h[0]*h[7]) / d, (h[0]*h[4] - h[1]*h[3]) / d,
	}
}

// scaled divides by s.
func (h homography) scaled(s float64) homography {
	for i := range h {
		h[i] /= s
	}
	return h
}

// similarity is a shift and a scaling: (x, y) -> k (x - cx, y - cy).
type similarity struct{ k, cx, cy float64 }

// normalising moves the points' centroid to the origin and their mean distance
// from it to the square root of two (Hartley; Hartley & Zisserman, Multiple
// View Geometry, 2nd ed., 4.4.4).
func normalising(p []Spot) similarity {
	var s similarity
	n := float64(len(p))
	for _, q := range p {
		s.cx += q.X / n
		s.cy += q.Y / n
	}
	var far float64
	for _, q := range p {
		far += math.Hypot(q.X-s.cx, q.Y-s.cy) / n
	}
	s.k = math.Sqrt2 / far
	return s
}

func (s similarity) apply(p Spot) Spot { return Spot{s.k * (p.X - s.cx), s.k * (p.Y - s.cy)} }

func (s similarity) matrix() homography {
	return homography{s.k, 0, -s.k * s.cx, 0, s.k, -s.k * s.cy, 0, 0, 1}
}

func (s similarity) inverse() homography {
	return homography{1 / s.k, 0, s.cx, 0, 1 / s.k, s.cy, 0, 0, 1}
}

// errDegenerate means that the points don't fix a homography.
var errDegenerate = errors.New("the points don't fix a homography")

// degenerate is the share of the greatest singular value below which another
// one is taken for nought. The points are normalised before, so this needs no
// unit.
const degenerate = 1e-9

// direct solves for the homography from -> to by the normalised direct linear
// transformation (Hartley & Zisserman, algorithm 4.2): exact for four points,
// least algebraic error for more. It fails with errDegenerate.
func direct(from, to []Spot) (homography, error) {
	a, b := normalising(from), normalising(to)
	m := mat.NewDense(max(2*len(from), 9), 9, nil) // rows of noughts make room for a whole basis
	for i := range from {
		p, q := a.apply(from[i]), b.apply(to[i])
		m.SetRow(2*i, []float64{0, 0, 0, -p.X, -p.Y, -1, q.Y * p.X, q.Y * p.Y, q.Y})
		m.SetRow(2*i+1, []float64{p.X, p.Y, 1, 0, 0, 0, -q.X * p.X, -q.X * p.Y, -q.X})
	}
	var svd mat.SVD
	if !svd.Factorize(m, mat.SVDThinV) {
		return homography{}, errDegenerate
	}
	s := svd.Values(nil)
	if !(s[7] > degenerate*s[0]) {
		return homography{}, errDegenerate
	}
	var v mat.Dense
	svd.VTo(&v)
	var h homography
	for i := range h {
		h[i] = v.At(i, 8)
	}
	if math.Abs(h.det()) < degenerate {
		return homography{}, errDegenerate
	}
	left, right := b.inverse(), a.matrix()
	h = left.times(&h)
	return h.times(&right), nil
}

// refined starts at h and minimises the sum of squared reprojection errors in
// the plane of to, each divided by its sigma: the most likely homography when
// from is exact and to has independent normal errors. For four points h is
// that already.
func refined(h homography, from, to []Spot, sigma []float64) (homography, error) {
	a, b := normalising(from), normalising(to)
	left, right := b.matrix(), a.inverse()
	h = left.times(&h)
	h = h.times(&right)
	// from's centroid is the origin here. All points lie on one side of the
	// vanishing line, so does their centroid, and h[8] is not nought.
	h = h.scaled(h[8])
	residuals := func(p, r []float64) {
		g := homography{p[0], p[1], p[2], p[3], p[4], p[5], p[6], p[7], 1}
		for i := range from {
			f, t := a.apply(from[i]), b.apply(to[i])
			u, v, _ := g.apply(f.X, f.Y)
			r[2*i], r[2*i+1] = (u-t.X)/(b.k*sigma[i]), (v-t.Y)/(b.k*sigma[i])
		}
	}
	p := h[:8:8]
	if !leastSquares(residuals, p, 2*len(from)) {
		return homography{}, errDegenerate
	}
	h[8] = 1
	back, fore := b.inverse(), a.matrix()
	h = back.times(&h)
	return h.times(&fore), nil
}
