package scene

import (
	"math"
	"sync"

	"netreel/media/laws"
	"netreel/media/scene/paint"
	"netreel/media/scene/space"
)

// The hall, in metres: parallel lanes between the side walls, batting ends on
// the left of a camera on the off side.
const (
	laneWidth = 3.66
	backNet   = -2.6 // behind the stumps
	netEnd    = 13.5 // where the side nets stop
	netTop    = 3.4
	canvasTop = 1.1 // height of the canvas at the foot of the back net
	linePaint = 0.05
)

// hall is the room: a box seen from inside, its floor with lanes and lines.
type hall struct {
	x0, x1, y0, y1, z1 float64
	lines              []laws.Rect
	law                laws.Edition
	seed               uint32
}

func newHall(law laws.Edition, seed int64) *hall {
	return &hall{
		x0: -5.2, x1: 34, y0: -2.5 * laneWidth, y1: 13, z1: 6.6,
		lines: law.Markings(linePaint), law: law, seed: uint32(seed) | 1,
	}
}

// shade is light in linear-looking 0..255 terms.
type shade struct{ r, g, b float64 }

func (s shade) mul(k float64) shade { return shade{s.r * k, s.g * k, s.b * k} }
func (s shade) mix(o shade, k float64) shade {
	return shade{s.r + (o.r-s.r)*k, s.g + (o.g-s.g)*k, s.b + (o.b-s.b)*k}
}

var (
	floorTone  = shade{196, 190, 176}
	laneTone   = shade{112, 160, 132}
	lineTone   = shade{248, 248, 242}
	wallTone   = shade{240, 236, 226}
	dadoTone   = shade{190, 204, 208}
	endTone    = shade{226, 226, 218}
	ceilTone   = shade{208, 210, 208}
	windowTone = shade{140, 170, 206}
	lampTone   = shade{255, 253, 244}
	canvasTone = shade{62, 96, 96}
	beamTone   = shade{160, 164, 166}
)

// look gives the colour of the room along a ray; footprint is the width of a
// pixel at depth 1.
func (h *hall) look(eye, ray space.V) shade {
	best, wall := math.Inf(1), 0
	try := func(id int, at, d, plane float64) {
		if d == 0 {
			return
		}
		if t := (plane - at) / d; t > 1e-6 && t < best {
			best, wall = t, id
		}
	}
	try(1, eye.Z, min(ray.Z, 0), 0)
	try(2, eye.Z, max(ray.Z, 0), h.z1)
	try(3, eye.Y, min(ray.Y, 0), h.y0)
	try(4, eye.Y, max(ray.Y, 0), h.y1)
	try(5, eye.X, min(ray.X, 0), h.x0)
	try(6, eye.X, max(ray.X, 0), h.x1)
	p := eye.Along(ray, best)
	// The canvas at the foot of the back nets stands in front of the end wall.
	if ray.X < 0 && eye.X > backNet {
		if q := eye.Along(ray, (backNet-eye.X)/ray.X); q.Z > 0 && q.Z < canvasTop && q.Y > h.y0 && q.Y < h.y1 && q.X >= p.X {
			fold := 0.03 * math.Sin(q.Y*9+1.3*math.Sin(q.Y*2.1))
			hem := 0.10 * band(q.Z, canvasTop-0.05, canvasTop)
			return canvasTone.mul(0.86 + 0.14*q.Z/canvasTop + fold + hem)
		}
	}
	switch wall {
	case 1:
		return h.floor(p)
	case 2:
		return h.ceiling(p)
	case 3, 4:
		return h.sideWall(p)
	default:
		return h.endWall(p)
	}
}

func (h *hall) floor(p space.V) shade {
	s := floorTone
	lane := math.Mod(p.Y+2.5*laneWidth+100*laneWidth, laneWidth) - laneWidth/2
	if inMat := math.Abs(lane) < laneWidth/2-0.16 && p.X > -2.2 && p.X < 24; inMat {
		s = laneTone.mul(1 + 0.025*(h.noise(p.X*3, p.Y*3)-0.5) + 0.05*(h.noise(p.X*55, p.Y*55)-0.5))
		// Worn where batters stand and where good balls pitch.
		wear := 0.10*bump(p.X, lane, 1.2, 0, 0.9, 0.6) + 0.05*bump(p.X, lane, 5, 0, 2.5, 0.5)
		s = s.mix(shade{170, 186, 160}, wear*2)
	}
	for _, r := range h.lines {
		if r.Contains(p.X, lane) {
			s = s.mix(lineTone, 0.9-0.35*bump(p.X, lane, 1.25, 0, 0.5, 0.45)*h.noise(p.X*40, p.Y*40))
			break
		}
	}
	// Pools of light under the rows of lamps, less near the walls.
	pool := 0.5 + 0.5*math.Cos(2*math.Pi*(p.X-2)/5)
	k := 0.93 + 0.06*pool*(0.6+0.4*math.Cos(2*math.Pi*p.Y/laneWidth))
	edge := min(p.Y-h.y0, h.y1-p.Y, p.X-h.x0)
	k *= 1 - 0.28*math.Exp(-max(0, edge)/0.5)
	k *= 1 - 0.20*math.Exp(-math.Abs(p.X-backNet)/0.4)
	return s.mul(k)
}

func (h *hall) ceiling(p space.V) shade {
	s := ceilTone
	if math.Abs(math.Mod(p.X+50, 5)-2) < 0.2 {
		s = beamTone
	}
	lane := math.Mod(p.Y+2.5*laneWidth+100*laneWidth, laneWidth) - laneWidth/2
	if math.Abs(math.Abs(lane)-laneWidth/2+0.1) < 0.22 && math.Mod(p.X+50, 5) > 2.7 && math.Mod(p.X+50, 5) < 4.4 {
		return lampTone
	}
	return s
}

func (h *hall) sideWall(p space.V) shade {
	s := wallTone
	switch {
	case p.Z < 0.12:
		s = shade{140, 146, 150}
	case p.Z < 1.45:
		s = dadoTone.mul(1 - 0.04*band(math.Mod(p.X+90, 1.5), 0, 0.02))
	case p.Z < 1.52:
		s = shade{236, 232, 222}
	case p.Z > 2.55 && p.Z < 3.9 && math.Mod(p.X+92.4, 4) < 2.9:
		s = windowTone.mix(shade{244, 214, 190}, max(0, 1-(p.Z-2.55)/1.35)*0.75)
		if u := math.Mod(p.X+92.4, 4); math.Mod(u, 0.967) < 0.05 || p.Z < 2.61 || p.Z > 3.84 {
			s = shade{238, 236, 230}
		}
	}
	k := 0.94 + 0.06*math.Exp(-math.Pow((p.Z-2.6)/1.8, 2)) + 0.02*math.Cos(2*math.Pi*(p.X-2)/5)
	k *= 1 - 0.16*math.Exp(-p.Z/0.35)
	return s.mul(k)
}

func (h *hall) endWall(p space.V) shade {
	s := endTone
	if p.Z < 1.45 {
		s = dadoTone
	}
	k := 0.95 + 0.05*math.Exp(-math.Pow((p.Z-2.6)/1.6, 2)) - 0.14*math.Exp(-p.Z/0.4)
	return s.mul(k)
}

// paintHall draws the empty room into a canvas, nine rays a pixel.
func (h *hall) paint(c *paint.Canvas, cam space.Camera) {
	const rays = 3
	tones := make([]shade, c.Width*c.Height)
	var wait sync.WaitGroup
	for part := range 2 {
		wait.Go(func() {
			for y := part; y < c.Height; y += 2 {
				for x := range c.Width {
					var sum shade
					for i := range rays * rays {
						at := space.P{
							X: float64(x) + (float64(i%rays)+0.5)/rays,
							Y: float64(y) + (float64(i/rays)+0.5)/rays,
						}
						s := h.look(cam.Eye, cam.Ray(at))
						sum = shade{sum.r + s.r, sum.g + s.g, sum.b + s.b}
					}
					// Darker towards the corners, as lenses are.
					vx, vy := (float64(x)-cam.CX)/float64(c.Width), (float64(y)-cam.CY)/float64(c.Height)
					tones[y*c.Width+x] = sum.mul((1 - 0.16*(vx*vx+vy*vy)) / (rays * rays))
				}
			}
		})
	}
	wait.Wait()
	for y := range c.Height {
		for x := range c.Width {
			t := tones[y*c.Width+x]
			c.Y[y*c.Width+x] = paint.FromLinear(t.r, t.g, t.b).Y
			if x%2 == 0 && y%2 == 0 {
				for _, i := range []int{1, c.Width, c.Width + 1} {
					o := tones[y*c.Width+x+i]
					t = shade{t.r + o.r, t.g + o.g, t.b + o.b}
				}
				col := paint.FromLinear(t.r/4, t.g/4, t.b/4)
				c.U[y/2*(c.Width/2)+x/2], c.V[y/2*(c.Width/2)+x/2] = col.U, col.V
			}
		}
	}
}

// noise is smooth value noise in 0..1 with cells of size 1.
func (h *hall) noise(x, y float64) float64 {
	fx, fy := math.Floor(x), math.Floor(y)
	u, v := x-fx, y-fy
	u, v = u*u*(3-2*u), v*v*(3-2*v)
	at := func(dx, dy float64) float64 {
		n := uint32(int32(fx+dx))*374761393 + uint32(int32(fy+dy))*668265263 + h.seed*2246822519
		n = (n ^ n>>13) * 1274126177
		return float64((n^n>>16)&0xffff) / 65535
	}
	a, b := at(0, 0)+(at(1, 0)-at(0, 0))*u, at(0, 1)+(at(1, 1)-at(0, 1))*u
	return a + (b-a)*v
}

func band(v, from, to float64) float64 {
	if v >= from && v < to {
		return 1
	}
	return 0
}

// bump is a soft hill of height 1 at (x0, y0).
func bump(x, y, x0, y0, wx, wy float64) float64 {
	dx, dy := (x-x0)/wx, (y-y0)/wy
	return math.Exp(-dx*dx - dy*dy)
}
