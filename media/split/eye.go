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
	prev          []float32
	cur           []float32
	diff          []float32
	profile       [2][2][]float32 // of the previous and this picture, along x and y
	have          bool
	spotter       *spotter
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
	e.prev, e.cur, e.diff = make([]float32, w*h), make([]float32, w*h), make([]float32, w*h)
	e.spotter = newSpotter(w, h)
	for i := range e.profile {
		e.profile[i] = [2][]float32{make([]float32, w), make([]float32, h)}
	}
	return e
}

func (e *eye) cells() int { return e.across * e.down }

// spots are the small areas in which the last picture differed.
func (e *eye) spots() []spot { return e.spotter.spots(e.diff) }

// see takes the next picture and gives how much each cell changed since the
// one before, as the square root of grey levels a pixel in steps of eyeUnit;
// ok is false for the first picture of a run.
func (e *eye) see(grey []byte, out []byte) (ok bool) {
	e.prev, e.cur = e.cur, e.prev
	e.profile[0], e.profile[1] = e.profile[1], e.profile[0]
	for i, v := range grey[:e.width*e.height] {
		e.cur[i] = float32(v)
	}
	e.profiles()
	if !e.have {
		e.have = true
		return false
	}
	dx, dy := shift(e.profile[0][0], e.profile[1][0]), shift(e.profile[0][1], e.profile[1][1])
	e.compare(dx, dy)
	for c := range out[:e.cells()] {
		x0, y0 := c%e.across*cellSide, c/e.across*cellSide
		var sum float32
		for y := y0; y < y0+cellSide; y++ {
			for _, d := range e.diff[y*e.width+x0 : y*e.width+x0+cellSide] {
				sum += max(d, -d)
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
		line := e.cur[y*e.width : (y+1)*e.width]
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

// compare fills diff with how far each pixel changed beyond noise, brighter or
// darker, the previous picture moved by dx, dy and to the same brightness.
func (e *eye) compare(dx, dy float64) {
	w, h := e.width, e.height
	ix, iy := int(math.Floor(dx)), int(math.Floor(dy))
	fx, fy := float32(dx-float64(ix)), float32(dy-float64(iy))
	at := func(x, y int) float32 { return e.prev[min(max(y, 0), h-1)*w+min(max(x, 0), w-1)] }
	still := dx == 0 && dy == 0
	var levels [256]int // of signed differences, for their median
	for y := range h {
		for x := range w {
			i := y*w + x
			var p float32
			if still {
				p = e.prev[i]
			} else {
				// The pixel now at x was at x-d: between two whole pixels.
				x1, y1 := x-ix, y-iy
				p = (at(x1, y1)*(1-fx)+at(x1-1, y1)*fx)*(1-fy) + (at(x1, y1-1)*(1-fx)+at(x1-1, y1-1)*fx)*fy
			}
			d := e.cur[i] - p
			e.diff[i] = d
			levels[int(min(max(d, -127), 127))+128]++
		}
	}
	light := median(levels[:], w*h) - 128
	var sizes [256]int
	for i := range e.diff {
		e.diff[i] -= float32(light)
		sizes[int(min(max(e.diff[i], -e.diff[i]), 255))]++
	}
	sigma := (float64(median(sizes[:], w*h)) + 0.5) / 0.6745
	least := float32(max(eyeSigmas*sigma, eyeLeast))
	// Where the camera moved, edges differ by what is left of the move.
	edge := float32(0)
	if !still {
		edge = 0.35
	}
	for y := range h {
		for x := range w {
			i := y*w + x
			signed := e.diff[i]
			d := max(signed, -signed) - least
			if d <= 0 {
				e.diff[i] = 0
				continue
			}
			if edge > 0 {
				gx := e.cur[y*w+min(x+1, w-1)] - e.cur[y*w+max(x-1, 0)]
				gy := e.cur[min(y+1, h-1)*w+x] - e.cur[max(y-1, 0)*w+x]
				d -= edge * (max(gx, -gx) + max(gy, -gy))
			}
			d = max(d, 0)
			if signed < 0 {
				d = -d
			}
			e.diff[i] = d
		}
	}
}

// median is the index that half of the counts lie below.
func median(counts []int, total int) int {
	left := total / 2
	for i, n := range counts {
		if left -= n; left < 0 {
			return i
		}
	}
	return len(counts) - 1
}
