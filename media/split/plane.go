package split

import "math"

// plane is one quantity of the picture - how bright, or how warm its colour is -
// and where it changed since the picture before.
type plane struct {
	width, height int
	prev, cur     []float32
	before, now   []float32 // both smoothed
	diff          []float32 // beyond noise, signed
	spotter       *spotter
}

func newPlane(width, height int) *plane {
	n := width * height
	return &plane{width: width, height: height, prev: make([]float32, n), cur: make([]float32, n), diff: make([]float32, n),
		before: make([]float32, n), now: make([]float32, n),
		spotter: newSpotter(width, height)}
}

// next takes the next picture, the value of pixel i by what it is given for it.
func (p *plane) next(value func(i int) float32) {
	p.prev, p.cur = p.cur, p.prev
	p.before, p.now = p.now, p.before
	for i := range p.cur {
		p.cur[i] = value(i)
	}
	smooth(p.cur, p.now, p.width, p.height)
}

// spots are the small areas in which the last picture differed.
func (p *plane) spots() []spot { return p.spotter.spots(p.diff) }

// compare fills diff with how far each pixel changed beyond noise, brighter or
// darker, the previous picture moved as the camera did and to the same brightness.
// A picture between whole pixels is less sharp, so both are smoothed then: edges would
// else differ everywhere.
func (p *plane) compare(moved sway) {
	w, h := p.width, p.height
	still := moved.still()
	if still {
		for i, v := range p.cur {
			p.diff[i] = v - p.prev[i]
		}
	} else {
		for y := range h {
			for x := range w {
				dx, dy := moved.at(float64(x)-float64(w)/2, float64(y)-float64(h)/2)
				p.diff[y*w+x] = p.now[y*w+x] - p.between(float64(x)-dx, float64(y)-dy)
			}
		}
	}
	light, sigma := noise(p.diff, 1)
	least := max(eyeSigmas*sigma, eyeLeast)
	// Where the camera moved, edges differ by what is left of the move.
	edge := float32(0)
	if !still {
		edge = 0.35
	}
	for y := range h {
		for x := range w {
			i := y*w + x
			signed := p.diff[i] - light
			d := abs(signed) - least
			if d <= 0 {
				p.diff[i] = 0
				continue
			}
			if edge > 0 {
				gx := p.now[y*w+min(x+1, w-1)] - p.now[y*w+max(x-1, 0)]
				gy := p.now[min(y+1, h-1)*w+x] - p.now[max(y-1, 0)*w+x]
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

// between is the previous picture, smoothed, at a place between its pixels, or at the
// nearest to it.
func (p *plane) between(x, y float64) float32 {
	w, h := p.width, p.height
	ix, iy := int(math.Floor(x)), int(math.Floor(y))
	fx, fy := float32(x-float64(ix)), float32(y-float64(iy))
	x0, x1 := min(max(ix, 0), w-1), min(max(ix+1, 0), w-1)
	here, below := p.before[min(max(iy, 0), h-1)*w:][:w], p.before[min(max(iy+1, 0), h-1)*w:][:w]
	return (here[x0]*(1-fx)+here[x1]*fx)*(1-fy) + (below[x0]*(1-fx)+below[x1]*fx)*fy
}

// noise is the median of differences, and the standard deviation that half of them tell
// if they are normal, by histograms in parts of a grey level.
func noise(diffs []float32, parts int) (light, sigma float32) {
	const most = 127
	unit := float32(parts)
	levels := make([]int, 2*most*parts+1)
	for _, d := range diffs {
		levels[min(max(int(d*unit), -most*parts), most*parts)+most*parts]++
	}
	light = float32(median(levels, len(diffs))-most*parts) / unit
	clear(levels)
	for _, d := range diffs {
		levels[min(int(abs(d-light)*unit), len(levels)-1)]++
	}
	return light, (float32(median(levels, len(diffs))) + 0.5) / unit / 0.6745
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

// smooth writes a picture's means over each pixel and its neighbours, 1-2-1 each way.
func smooth(from, into []float32, width, height int) {
	column := make([]float32, width)
	for y := range height {
		above, here, below := from[max(y-1, 0)*width:][:width], from[y*width:][:width], from[min(y+1, height-1)*width:][:width]
		for x := range column {
			column[x] = above[x] + 2*here[x] + below[x]
		}
		line := into[y*width:][:width]
		for x := range line {
			line[x] = (column[max(x-1, 0)] + 2*column[x] + column[min(x+1, width-1)]) / 16
		}
	}
}
