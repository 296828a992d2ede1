package split

import "math"

// plane is one quantity of the picture - how bright, or how warm its colour is -
// and where it changed since the picture before.
type plane struct {
	width, height int
	prev, cur     []float32
	diff          []float32 // beyond noise, signed
	spotter       *spotter
}

func newPlane(width, height int) *plane {
	n := width * height
	return &plane{width: width, height: height, prev: make([]float32, n), cur: make([]float32, n), diff: make([]float32, n),
		spotter: newSpotter(width, height)}
}

// next is where to write the next picture.
func (p *plane) next() []float32 {
	p.prev, p.cur = p.cur, p.prev
	return p.cur
}

// spots are the small areas in which the last picture differed.
func (p *plane) spots() []spot { return p.spotter.spots(p.diff) }

// compare fills diff with how far each pixel changed beyond noise, brighter or
// darker, the previous picture moved by dx, dy and to the same brightness.
func (p *plane) compare(dx, dy float64) {
	w, h := p.width, p.height
	ix, iy := int(math.Floor(dx)), int(math.Floor(dy))
	fx, fy := float32(dx-float64(ix)), float32(dy-float64(iy))
	still := dx == 0 && dy == 0
	if still {
		for i, v := range p.cur {
			p.diff[i] = v - p.prev[i]
		}
	} else {
		row := func(y int) []float32 { return p.prev[min(max(y, 0), h-1)*w:][:w] }
		for y := range h {
			here, above := row(y-iy), row(y-iy-1)
			for x := range w {
				// The pixel now at x was at x-d: between two whole pixels.
				x1, x0 := min(max(x-ix, 0), w-1), min(max(x-ix-1, 0), w-1)
				old := (here[x1]*(1-fx)+here[x0]*fx)*(1-fy) + (above[x1]*(1-fx)+above[x0]*fx)*fy
				p.diff[y*w+x] = p.cur[y*w+x] - old
			}
		}
	}
	var levels [256]int // of signed differences, for their median
	for _, d := range p.diff {
		levels[min(max(int(d), -127), 127)+128]++
	}
	light := float32(median(levels[:], w*h) - 128)
	var sizes [256]int
	for i, d := range p.diff {
		d -= light
		p.diff[i] = d
		sizes[min(int(abs(d)), 255)]++
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
			signed := p.diff[i]
			d := abs(signed) - least
			if d <= 0 {
				p.diff[i] = 0
				continue
			}
			if edge > 0 {
				gx := p.cur[y*w+min(x+1, w-1)] - p.cur[y*w+max(x-1, 0)]
				gy := p.cur[min(y+1, h-1)*w+x] - p.cur[max(y-1, 0)*w+x]
				d -= edge * (abs(gx) + abs(gy))
			}
			d = max(d, 0)
			if signed < 0 {
				d = -d
			}
			p.diff[i] = d
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

// abs is without a branch: half of all differences are below nothing, by chance.
func abs(v float32) float32 { return math.Float32frombits(math.Float32bits(v) &^ (1 << 31)) }
