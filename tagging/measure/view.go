package measure

import (
	"math"

	"netreel/media/fault"
)

// view is one state of a calibration: as it was found, or with its inputs
// moved.
type view struct {
	h          homography
	back       homography
	lens       lens
	projection [12]float64
}

// view gives the calibration as it was found.
func (c *Calibration) view() view {
	v := view{h: c.Ground, lens: lensOf(c.Width, c.Height, c.Bend)}
	if c.Camera != nil {
		v.projection = c.Camera.Projection
	}
	v.back = v.h.inverse()
	return v
}

// moved gives the calibration with inputs moved by so many standard deviations,
// one number a row of Spread.
func (c *Calibration) moved(by func(row int) float64) view {
	v := c.view()
	for i, row := range c.Spread {
		k := by(i)
		if k == 0 {
			continue
		}
		for j, d := range row {
			switch {
			case j < groundLen:
				v.h[j] += k * d
			case j == groundLen:
				v.lens.bend += k * d
			default:
				v.projection[j-groundLen-1] += k * d
			}
		}
	}
	v.back = v.h.inverse()
	return v
}

// farthest is how much farther from the camera than the marks a point of the
// ground may lie.
const farthest = 50

// ground gives the place on the ground that is seen at p. It fails with
// fault.Invalid for a point on or above the horizon.
func (v *view) ground(p Pixel) (Spot, error) {
	p = v.lens.straighten(p)
	x, y, _ := v.back.apply(p.X, p.Y)
	_, _, w := v.h.apply(x, y)
	if !(w > 0 && w < farthest) {
		return Spot{}, fault.New(fault.Invalid, "measure.Spot",
			"This point lies on or above the horizon, so it is not on the ground. Click where it touches the ground.")
	}
	return Spot{x, y}, nil
}

// pixel gives where a place on the ground is seen; false when it is not in
// front of the camera.
func (v *view) pixel(x, y float64) (Pixel, bool) {
	px, py, w := v.h.apply(x, y)
	if !(w > 1.0/farthest) {
		return Pixel{}, false
	}
	return v.lens.bent(Pixel{px, py})
}

// project gives where a point of the space is seen in the straightened picture,
// and its depth in metres.
func (v *view) project(p vec) (x, y, depth float64) {
	m := &v.projection
	depth = m[8]*p[0] + m[9]*p[1] + m[10]*p[2] + m[11]
	return (m[0]*p[0] + m[1]*p[1] + m[2]*p[2] + m[3]) / depth, (m[4]*p[0] + m[5]*p[1] + m[6]*p[2] + m[7]) / depth, depth
}

// ray gives the camera's place and the direction of what is seen at p, away
// from the camera.
func (v *view) ray(p Pixel) (eye, direction vec) {
	p = v.lens.straighten(p)
	m := &v.projection
	inverse := homography{m[0], m[1], m[2], m[4], m[5], m[6], m[8], m[9], m[10]}
	inverse = inverse.inverse()
	mul := func(a, b, c float64) (d vec) {
		for i := range 3 {
			d[i] = inverse[3*i]*a + inverse[3*i+1]*b + inverse[3*i+2]*c
		}
		return d
	}
	return mul(-m[3], -m[7], -m[11]), mul(p.X, p.Y, 1)
}

// spotSigma is the standard deviation of the place on the ground seen at p, the
// root of the sum of both directions' variances, metres; infinite above the
// horizon.
func (c *Calibration) spotSigma(p Pixel, sigma float64) float64 {
	v := c.view()
	at, err := v.ground(p)
	if err != nil {
		return math.Inf(1)
	}
	var sum float64
	add := func(v view, p Pixel) {
		q, err := v.ground(p)
		if err != nil {
			sum = math.Inf(1)
		}
		sum += square(q.X-at.X) + square(q.Y-at.Y)
	}
	add(v, Pixel{p.X + sigma, p.Y})
	add(v, Pixel{p.X, p.Y + sigma})
	for row := range c.Spread {
		add(c.moved(func(i int) float64 {
			if i == row {
				return 1
			}
			return 0
		}), p)
	}
	return math.Sqrt(sum)
}

// Spot gives the place on the ground that is seen at p, pixels of the picture
// as shown, and its standard deviation in metres for a click that is good to
// sigma pixels (0: ClickSigma). It fails with fault.Invalid for a point that is
// on or above the horizon.
func (c *Calibration) Spot(p Pixel, sigma float64) (Spot, float64, error) {
	if sigma == 0 {
		sigma = ClickSigma
	}
	v := c.view()
	at, err := v.ground(p)
	if err != nil {
		return Spot{}, 0, err
	}
	return at, c.spotSigma(p, sigma), nil
}

// Pixel gives where a place on the ground is seen in the picture as shown;
// false when it is not in front of the camera. It may lie outside the picture.
func (c *Calibration) Pixel(at Spot) (Pixel, bool) {
	v := c.view()
	return v.pixel(at.X, at.Y)
}
