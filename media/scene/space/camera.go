package space

// P is a point of the picture in pixels: x to the right, y down, (0, 0) at
// the outer corner of the first pixel.
type P struct{ X, Y float64 }

// Camera is a pinhole without distortion.
type Camera struct {
	Eye     V       `json:"eye"`
	Right   V       `json:"right"`
	Down    V       `json:"down"`
	Forward V       `json:"forward"`
	Focal   float64 `json:"focal"` // pixels
	CX      float64 `json:"cx"`    // principal point
	CY      float64 `json:"cy"`
}

// near is the least depth at which a point is projected.
const near = 0.05

// LookAt makes a level camera at eye that has at in the middle of a picture
// of width x height pixels.
func LookAt(eye, at V, focal float64, width, height int) Camera {
	f := at.Sub(eye).Unit()
	// Up x forward: the frame is left-handed, and pictures must not be mirrored.
	r := V{Z: 1}.Cross(f).Unit()
	return Camera{
		Eye: eye, Forward: f, Right: r, Down: f.Cross(r).Mul(-1), Focal: focal,
		CX: float64(width) / 2, CY: float64(height) / 2,
	}
}

// Project gives where p appears and its depth in metres along the viewing
// direction; false when it is not in front of the camera.
func (c *Camera) Project(p V) (at P, depth float64, ok bool) {
	d := p.Sub(c.Eye)
	depth = d.Dot(c.Forward)
	if depth < near {
		return P{}, depth, false
	}
	k := c.Focal / depth
	return P{c.CX + k*d.Dot(c.Right), c.CY + k*d.Dot(c.Down)}, depth, true
}

// Ray gives the direction (not scaled: depth 1) in which a point of the
// picture lies.
func (c *Camera) Ray(at P) V {
	return c.Forward.
		Along(c.Right, (at.X-c.CX)/c.Focal).
		Along(c.Down, (at.Y-c.CY)/c.Focal)
}

// Scale gives pixels a metre at a depth.
func (c *Camera) Scale(depth float64) float64 { return c.Focal / max(depth, near) }

// Matrix gives the 3 x 4 projection matrix: homogeneous pixels from
// homogeneous metres.
func (c *Camera) Matrix() [3][4]float64 {
	row := func(axis V, centre float64) [4]float64 {
		m := axis.Mul(c.Focal).Along(c.Forward, centre)
		return [4]float64{m.X, m.Y, m.Z, -m.Dot(c.Eye)}
	}
	f := c.Forward
	return [3][4]float64{
		row(c.Right, c.CX),
		row(c.Down, c.CY),
		{f.X, f.Y, f.Z, -f.Dot(c.Eye)},
	}
}
