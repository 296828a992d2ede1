package split

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// A camera in the hand turns as well as shifts, a little at each picture. How it moved is
// what makes the picture before most like this one: by Gauss and Newton's method, with
// the mean of both pictures' slopes (efficient second-order minimisation: Benhimane and
// Malis 2004), and what moves by itself counts for nothing (Tukey's weights).
const (
	steadyStep   = 2    // pixels from one compared to the next
	steadyRounds = 6    // at most
	steadyParts  = 8    // of a grey level, in which noise is told
	steadyDone   = 0.01 // pixels: a round that moves nothing farther ends it
	steadyReach  = 4.7  // standard deviations beyond which a difference is somebody's own motion
	steadyStill  = 0.05 // pixels: the camera moved no farther anywhere: it stands
	steadyMost   = 20   // pixels that a corner may move
	steadyBetter = 0.9  // of what is left of differences if it only shifted: more is no gain
)

// sway is how the camera moved between two pictures: what is now at (x, y), in pixels
// from the middle, was at (x-dx-xx*x-xy*y, y-dy-yx*x-yy*y).
type sway struct{ dx, dy, xx, xy, yx, yy float64 }

// still says whether the camera stood.
func (s sway) still() bool { return s == sway{} }

// plus adds a small motion.
func (s sway) plus(o sway) sway {
	return sway{s.dx + o.dx, s.dy + o.dy, s.xx + o.xx, s.xy + o.xy, s.yx + o.yx, s.yy + o.yy}
}

// at is how far what is now at (x, y) from the middle moved.
func (s sway) at(x, y float64) (dx, dy float64) {
	return s.dx + s.xx*x + s.xy*y, s.dy + s.yx*x + s.yy*y
}

// most is how far a corner of a picture of that size moved, at most.
func (s sway) most(width, height int) float64 {
	most := 0.0
	for _, c := range [4][2]float64{{-1, -1}, {1, -1}, {-1, 1}, {1, 1}} {
		dx, dy := s.at(c[0]*float64(width)/2, c[1]*float64(height)/2)
		most = max(most, math.Hypot(dx, dy))
	}
	return most
}

// steady finds how the camera moved between a plane's two pictures.
type steady struct {
	*plane
	pairs []pair
	diffs []float32 // how much the pixel of each pair differs from where it was
}

// pair is a pixel, from the middle, and the mean of both pictures' slopes there.
type pair struct{ x, y, gx, gy float32 }

// sway is how the camera moved since the picture before, if it moved about as start says.
func (s *steady) sway(start sway) sway {
	best, moved := start, start
	light, sigma := s.compare(start)
	least := steadyBetter * s.differ(light, sigma)
	for range steadyRounds {
		step, ok := s.step(light, sigma)
		if moved = moved.plus(step); !ok || moved.most(s.width, s.height) > steadyMost {
			break
		}
		if start.still() && moved.most(s.width, s.height) < steadyStill {
			return sway{} // a stand is the usual case, and nothing more is worth looking for
		}
		light, sigma = s.compare(moved)
		if left := s.differ(light, sigma); left < least {
			best, least = moved, left
		}
		if step.most(s.width, s.height) < steadyDone {
			break
		}
	}
	if best.most(s.width, s.height) < steadyStill {
		return sway{}
	}
	return best
}

// compare sets all pairs of pixels for a camera that moved so, and gives the median of
// their differences and the standard deviation that half of them tell.
func (s *steady) compare(m sway) (light, sigma float32) {
	s.pairs, s.diffs = s.pairs[:0], s.diffs[:0]
	w, h := s.width, s.height
	for iy := 1; iy < h-1; iy += steadyStep {
		y := float64(iy) - float64(h)/2
		for ix := 1; ix < w-1; ix += steadyStep {
			x := float64(ix) - float64(w)/2
			dx, dy := m.at(x, y)
			ox, oy := float64(ix)-dx, float64(iy)-dy
			jx, jy := int(ox), int(oy)
			if ox < 0 || oy < 0 || jx >= w-1 || jy >= h-1 {
				continue
			}
			fx, fy := float32(ox-float64(jx)), float32(oy-float64(jy))
			above, below := s.before[jy*w+jx:][:2], s.before[(jy+1)*w+jx:][:2]
			top, low := above[0]+(above[1]-above[0])*fx, below[0]+(below[1]-below[0])*fx
			px := (above[1]-above[0])*(1-fy) + (below[1]-below[0])*fy
			i := iy*w + ix
			s.pairs = append(s.pairs, pair{float32(x), float32(y),
				((s.now[i+1]-s.now[i-1])/2 + px) / 2, ((s.now[i+w]-s.now[i-w])/2 + low - top) / 2})
			s.diffs = append(s.diffs, s.now[i]-top-(low-top)*fy)
		}
	}
	return noise(s.diffs, steadyParts)
}

// differ is how much the pairs differ where the picture has slopes, in grey levels; what
// moves by itself no more than the most that does not.
func (s *steady) differ(light, sigma float32) float64 {
	var sum, n float32
	for i, p := range s.pairs {
		slope := abs(p.gx) + abs(p.gy)
		sum += slope * min(abs(s.diffs[i]-light), steadyReach*sigma)
		n += slope
	}
	return float64(sum) / max(float64(n), 1e-9)
}

// step is by how much more the camera moved; not ok if the pictures do not tell.
func (s *steady) step(light, sigma float32) (more sway, ok bool) {
	const n = 6
	var a [n][n]float64
	var b [n]float64
	for at, p := range s.pairs {
		d := s.diffs[at] - light
		r := d / (steadyReach * sigma)
		if r <= -1 || r >= 1 {
			continue
		}
		w := (1 - r*r) * (1 - r*r)
		g := [n]float32{p.gx, p.gy, p.gx * p.x, p.gx * p.y, p.gy * p.x, p.gy * p.y}
		for i := range n {
			wg := w * g[i]
			for j := range i + 1 {
				a[i][j] += float64(wg * g[j])
			}
			// Where the picture moves on, it falls by its slope for each pixel.
			b[i] -= float64(wg * d)
		}
	}
	normal := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			normal.SetSym(i, j, a[i][j])
		}
	}
	var chol mat.Cholesky
	var by mat.VecDense
	if !chol.Factorize(normal) || chol.SolveVecTo(&by, mat.NewVecDense(n, b[:])) != nil {
		return sway{}, false
	}
	v := by.RawVector().Data
	return sway{v[0], v[1], v[2], v[3], v[4], v[5]}, true
}
