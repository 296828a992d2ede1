package split

import (
	"math"
	"slices"
)

// The eye looks at small pictures: the longer side is 256 pixels, cells are
// squares of 16. A batter is then a few cells high.
const (
	eyeLong   = 256
	cellSide  = 16
	eyeFPS    = 60.0
	eyeReach  = 10  // pixels by which the camera may jump between two pictures
	eyeUnit   = 40  // steps of a byte for the square root of one grey level
	eyeLeast  = 3.0 // grey levels: less is never taken for motion
	eyeSigmas = 4.0
)

// eye compares each picture with the one before it and says where it changed:
// the camera's own shake and changes of light are taken off first.
type eye struct {
	width, height int
	across, down  int // cells
	grey          *plane
	warm          *plane          // red less blue: a ball's leather stands out from grass, mat and concrete by it where it is as dark
	profile       [2][2][]float32 // of the previous and this picture, along x and y
	steady        *steady
	have          bool
	colour        bool // this picture has colour
	coloured      bool // and so has the one before
}

// eyeSize is how large the pictures are that the eye looks at, of footage that
// is shown width x height.
func eyeSize(width, height int) (w, h int) {
	w, h = eyeLong, eyeLong
	if width > 0 && height > 0 {
		if width >= height {
			h = eyeLong * height / width
		} else {
			w = eyeLong * width / height
		}
	} else {
		h = eyeLong * 9 / 16
	}
	round := func(n int) int { return min(max((n+cellSide/2)/cellSide, 2)*cellSide, eyeLong) }
	return round(w), round(h)
}

// newEye makes an eye for footage that is shown width x height.
func newEye(width, height int) *eye {
	w, h := eyeSize(width, height)
	e := &eye{width: w, height: h, across: w / cellSide, down: h / cellSide}
	e.grey, e.warm = newPlane(w, h), newPlane(w, h)
	e.steady = &steady{plane: e.grey}
	for i := range e.profile {
		e.profile[i] = [2][]float32{make([]float32, w), make([]float32, h)}
	}
	return e
}

func (e *eye) cells() int { return e.across * e.down }

// see takes the next picture and gives how much each cell changed since the
// one before, as the square root of grey levels a pixel in steps of eyeUnit;
// ok is false for the first picture of a run. Without colour blue and red are
// nil.
func (e *eye) see(grey, blue, red []byte, out []byte) (ok bool) {
	e.profile[0], e.profile[1] = e.profile[1], e.profile[0]
	area, had := e.width*e.height, e.colour
	e.grey.next(func(i int) float32 { return float32(grey[i]) })
	if e.colour = len(blue) >= area && len(red) >= area; e.colour {
		e.warm.next(func(i int) float32 { return float32(red[i]) - float32(blue[i]) })
	}
	e.profiles()
	if !e.have {
		e.have = true
		return false
	}
	moved := e.steady.sway(sway{dx: shift(e.profile[0][0], e.profile[1][0]), dy: shift(e.profile[0][1], e.profile[1][1])})
	e.grey.compare(moved)
	if e.coloured = e.colour && had; e.coloured {
		e.warm.compare(moved)
	}
	for c := range out[:e.cells()] {
		x0, y0 := c%e.across*cellSide, c/e.across*cellSide
		var sum float32
		for y := y0; y < y0+cellSide; y++ {
			for _, d := range e.grey.diff[y*e.width+x0 : y*e.width+x0+cellSide] {
				sum += abs(d)
			}
		}
		v := math.Sqrt(float64(sum)/(cellSide*cellSide)) * eyeUnit
		out[c] = byte(min(v, 255))
	}
	return true
}

// profiles sums the picture along its columns and rows, slow changes off.
func (e *eye) profiles() {
	col, row := e.profile[1][0], e.profile[1][1]
	clear(col)
	for y := range e.height {
		line := e.grey.cur[y*e.width : (y+1)*e.width]
		var sum float32
		for x, v := range line {
			col[x] += v
			sum += v
		}
		row[y] = sum / float32(e.width)
	}
	for x := range col {
		col[x] /= float32(e.height)
	}
	sharpen(col)
	sharpen(row)
}

// sharpen takes a moving mean off a profile.
func sharpen(p []float32) {
	const reach = 8
	src := slices.Clone(p)
	for i := range p {
		a, b := max(i-reach, 0), min(i+reach, len(p)-1)
		var sum float32
		for _, v := range src[a : b+1] {
			sum += v
		}
		p[i] = src[i] - sum/float32(b-a+1)
	}
}

// shift finds by how many pixels profile b lies further on than a, to a part
// of a pixel, by the least mean absolute difference.
func shift(a, b []float32) float64 {
	reach := min(eyeReach, len(a)/4)
	cost := make([]float64, 2*reach+1)
	best := reach
	for i := range cost {
		d := i - reach
		var sum float64
		n := 0
		for x := max(0, d); x < min(len(a), len(a)+d); x++ {
			sum += math.Abs(float64(b[x] - a[x-d]))
			n++
		}
		cost[i] = sum / float64(n)
		if cost[i] < cost[best] {
			best = i
		}
	}
	// Staying still is believed unless moving explains clearly more.
	if cost[best] > 0.8*cost[reach] {
		return 0
	}
	if best == 0 || best == len(cost)-1 {
		return float64(best - reach)
	}
	l, m, r := cost[best-1], cost[best], cost[best+1]
	part := 0.0
	if d := l - 2*m + r; d > 1e-9 {
		part = (l - r) / (2 * d)
	}
	return float64(best-reach) + min(max(part, -0.5), 0.5)
}
