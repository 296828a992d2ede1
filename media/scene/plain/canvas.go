package plain

import (
	"math"
	"math/rand/v2"
)

// canvas is a grey picture; lengths are in picture heights.
type canvas struct {
	w, h   int
	dx, dy float64 // added to all that is drawn
	px     []byte
}

func (c *canvas) set(x, y int, v float64) { c.px[y*c.w+x] = byte(min(max(v, 0), 255)) }

// box clips a rectangle in picture heights to whole pixels.
func (c *canvas) box(x0, y0, x1, y1 float64) (ax, ay, bx, by int) {
	s := float64(c.h)
	return max(int((x0+c.dx)*s), 0), max(int((y0+c.dy)*s), 0), min(int(math.Ceil((x1+c.dx)*s)), c.w), min(int(math.Ceil((y1+c.dy)*s)), c.h)
}

func (c *canvas) rect(x, y, w, h, v float64) {
	ax, ay, bx, by := c.box(x, y, x+w, y+h)
	for j := ay; j < by; j++ {
		for i := ax; i < bx; i++ {
			c.set(i, j, v)
		}
	}
}

// disc draws a disc, its edge softened over a pixel: a ball may be smaller
// than one.
func (c *canvas) disc(x, y, r, v float64) {
	ax, ay, bx, by := c.box(x-r-0.01, y-r-0.01, x+r+0.01, y+r+0.01)
	s := float64(c.h)
	for j := ay; j < by; j++ {
		for i := ax; i < bx; i++ {
			d := math.Hypot(float64(i)+0.5-(x+c.dx)*s, float64(j)+0.5-(y+c.dy)*s)
			if a := min(max(r*s+0.5-d, 0), 1); a > 0 {
				p := float64(c.px[j*c.w+i])
				c.set(i, j, p+(v-p)*a)
			}
		}
	}
}

// line draws a line with round ends, r its half width.
func (c *canvas) line(x0, y0, x1, y1, r, v float64) {
	r = max(r, 0.6/float64(c.h))
	ax, ay, bx, by := c.box(min(x0, x1)-r, min(y0, y1)-r, max(x0, x1)+r, max(y0, y1)+r)
	s := float64(c.h)
	px, py, qx, qy := (x0+c.dx)*s, (y0+c.dy)*s, (x1+c.dx)*s, (y1+c.dy)*s
	lx, ly := qx-px, qy-py
	n := lx*lx + ly*ly
	for j := ay; j < by; j++ {
		for i := ax; i < bx; i++ {
			x, y := float64(i)+0.5-px, float64(j)+0.5-py
			u := 0.0
			if n > 0 {
				u = min(max((x*lx+y*ly)/n, 0), 1)
			}
			if math.Hypot(x-u*lx, y-u*ly) <= r*s {
				c.set(i, j, v)
			}
		}
	}
}

// paintGround makes the ground once, larger than the picture so that the
// camera may move over it.
func (w *World) paintGround() {
	r := rand.New(rand.NewPCG(w.Seed, 21))
	gw, gh := w.Width+2*w.margin(), w.Height+2*w.margin()
	w.ground = make([]float32, gw*gh)
	// Smooth noise of several sizes.
	for _, cell := range []int{48, 16, 5} {
		amp := 22 * float64(cell) / 48
		cols := gw/cell + 2
		grid := make([]float64, cols*(gh/cell+2))
		for i := range grid {
			grid[i] = amp * r.NormFloat64()
		}
		for y := range gh {
			fy := float64(y%cell) / float64(cell)
			for x := range gw {
				fx := float64(x%cell) / float64(cell)
				k := y/cell*cols + x/cell
				top := grid[k]*(1-fx) + grid[k+1]*fx
				low := grid[k+cols]*(1-fx) + grid[k+cols+1]*fx
				w.ground[y*gw+x] += float32(top*(1-fy) + low*fy)
			}
		}
	}
	base, mesh := between(r, 90, 140), 8+r.IntN(12)
	for y := range gh {
		for x := range gw {
			v := base
			if y > gh*6/10 {
				v += 25
			}
			if x%mesh == 0 || y%mesh == 0 { // the net's cords
				v -= 18
			}
			w.ground[y*gw+x] += float32(v)
		}
	}
}

// margin is by how many pixels the ground is larger on each side.
func (w *World) margin() int { return int(1.7*w.Shake*float64(w.Height)) + 8 }

func (w *World) drawGround(c *canvas, t, jx, jy float64) {
	m := w.margin()
	gw := w.Width + 2*m
	x0, y0 := float64(m)+jx*float64(c.h), float64(m)+jy*float64(c.h)
	for y := range c.h {
		sway := 0.0
		if w.Trees && y < c.h/3 {
			sway = 1.5 * math.Sin(t*2.1+float64(y)*0.13) * math.Sin(t*0.37)
		}
		fx, fy := x0+sway, y0+float64(y)
		ix, iy := int(fx), int(fy)
		ax, ay := float32(fx-float64(ix)), float32(fy-float64(iy))
		iy = min(max(iy, 0), c.h+2*m-2)
		ix = min(max(ix, 0), 2*m-2)
		a, b := w.ground[iy*gw+ix:], w.ground[(iy+1)*gw+ix:]
		for x := range c.w {
			top := a[x] + (a[x+1]-a[x])*ax
			low := b[x] + (b[x+1]-b[x])*ax
			c.px[y*c.w+x] = byte(min(max(top+(low-top)*ay, 0), 255))
		}
	}
}
