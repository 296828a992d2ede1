package measure

import "math"

// vec is a point or a direction in the frame of package laws, metres.
type vec [3]float64

func (a vec) add(b vec, k float64) vec { return vec{a[0] + k*b[0], a[1] + k*b[1], a[2] + k*b[2]} }
func (a vec) dot(b vec) float64        { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
func (a vec) length() float64          { return math.Sqrt(a.dot(a)) }

// cross is the vector product by the usual formula.
func (a vec) cross(b vec) vec {
	return vec{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}

// pinhole is a camera with square pixels whose axis goes through the middle of
// the picture: seven unknowns. Phones and broadcast cameras are such cameras
// unless the picture was cropped to one side.
type pinhole struct {
	focal float64 // pixels
	axes  [3]vec  // the camera's right, down and forward; left-handed like the world, so det = -1
	eye   vec
}

// project gives where p is seen, from the middle of the picture, and its depth
// in metres.
func (c *pinhole) project(p vec) (x, y, depth float64) {
	d := p.add(c.eye, -1)
	depth = c.axes[2].dot(d)
	return c.focal * c.axes[0].dot(d) / depth, c.focal * c.axes[1].dot(d) / depth, depth
}

// matrix is the projection matrix by rows: homogeneous pixels, whose third
// coordinate is the depth in metres, from homogeneous metres.
func (c *pinhole) matrix(cx, cy float64) (m [12]float64) {
	for i, centre := range []float64{cx, cy, 0} {
		row := c.axes[2]
		if i < 2 {
			row = vec{}.add(c.axes[i], c.focal).add(c.axes[2], centre)
		}
		copy(m[4*i:], row[:])
		m[4*i+3] = -row.dot(c.eye)
	}
	return m
}

// turned rotates the camera about its own axes by the vector w, radians
// (Rodrigues' formula).
func (c pinhole) turned(w vec) pinhole {
	angle := w.length()
	if angle == 0 {
		return c
	}
	u := vec{}.add(w, 1/angle)
	sin, cos := math.Sincos(angle)
	var r [3]vec
	for i := range 3 {
		var e vec
		e[i] = 1
		turned := vec{}.add(e, cos).add(u.cross(e), sin).add(u, u[i]*(1-cos))
		for j := range 3 {
			r[j] = r[j].add(c.axes[i], turned[j])
		}
	}
	c.axes = r
	return c
}

// moved changes the camera by parameters: logarithm of the focal length, turn
// and shift of the eye.
func (c pinhole) moved(p []float64) pinhole {
	c = c.turned(vec{p[1], p[2], p[3]})
	c.focal *= math.Exp(p[0])
	c.eye = c.eye.add(vec{p[4], p[5], p[6]}, 1)
	return c
}

// pose finds a camera of a given focal length near to a homography from the
// ground to pixels that are counted from the middle of the picture. h must be
// positive in front of the camera.
func pose(h *homography, focal float64) pinhole {
	column := func(j int) vec { return vec{h[j] / focal, h[3+j] / focal, h[6+j]} }
	a, b, t := column(0), column(1), column(2)
	scale := (a.length() + b.length()) / 2
	// The nearest two directions at right angles: their sum and difference.
	a, b = vec{}.add(a, 1/a.length()), vec{}.add(b, 1/b.length())
	s, d := a.add(b, 1), a.add(b, -1)
	s, d = vec{}.add(s, math.Sqrt2/2/s.length()), vec{}.add(d, math.Sqrt2/2/d.length())
	a, b = s.add(d, 1), s.add(d, -1)
	up := vec{}.add(a.cross(b), -1)
	c := pinhole{focal: focal}
	for i := range 3 {
		c.axes[i] = vec{a[i], b[i], up[i]}
	}
	for i := range 3 {
		c.eye = c.eye.add(c.axes[i], -t[i]/scale)
	}
	return c
}

// seen is a point of known place and where it appears, straightened.
type seen struct {
	at    vec
	pixel Pixel
	sigma float64
}

// focalSpread is the standard deviation of the logarithm of the focal length
// before anything is seen: cameras have half to several picture widths. It
// matters only where the clicks say next to nothing.
const focalSpread = 1.0

// fitPinhole moves a camera to where the squared reprojection errors are least.
// cx, cy is where its axis meets the picture; usual is the focal length to
// expect. cost is the sum of the squared errors, each divided by its sigma.
func fitPinhole(from pinhole, points []seen, cx, cy, usual float64) (to pinhole, cost float64, ok bool) {
	residuals := func(p, r []float64) {
		c := from.moved(p)
		for i, s := range points {
			x, y, depth := c.project(s.at)
			if depth <= 0 {
				x, y = math.Inf(1), 0
			}
			r[2*i], r[2*i+1] = (x+cx-s.pixel.X)/s.sigma, (y+cy-s.pixel.Y)/s.sigma
		}
		r[2*len(points)] = math.Log(c.focal/usual) / focalSpread
	}
	p := make([]float64, 7)
	n := 2*len(points) + 1
	if !leastSquares(residuals, p, n) {
		return pinhole{}, 0, false
	}
	r := make([]float64, n)
	residuals(p, r)
	return from.moved(p), dot(r, r), true
}
