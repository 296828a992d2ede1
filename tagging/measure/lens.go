package measure

import (
	"math"

	"netreel/media/fault"
)

// lens bends straight lines by the division model with one parameter: a point
// at r from the middle of the picture, measured in half diagonals, belongs at
// r / (1 + bend r²) (Fitzgibbon, Simultaneous linear estimation of multiple
// view geometry and lens distortion, CVPR 2001). Below 0 the picture is barrel
// shaped.
type lens struct {
	cx, cy, half float64 // middle and half diagonal of the picture, pixels
	bend         float64
}

func lensOf(width, height int, bend float64) lens {
	w, h := float64(width), float64(height)
	return lens{w / 2, h / 2, math.Hypot(w, h) / 2, bend}
}

// factor is what a point's way from the middle is divided by to straighten it.
func (l lens) factor(p Pixel) float64 {
	dx, dy := (p.X-l.cx)/l.half, (p.Y-l.cy)/l.half
	return 1 + l.bend*(dx*dx+dy*dy)
}

// straighten gives where a pinhole would have put what is seen at p.
func (l lens) straighten(p Pixel) Pixel {
	f := l.factor(p)
	return Pixel{l.cx + (p.X-l.cx)/f, l.cy + (p.Y-l.cy)/f}
}

// bent is the way back; false where the lens shows no such point.
func (l lens) bent(p Pixel) (Pixel, bool) {
	dx, dy := (p.X-l.cx)/l.half, (p.Y-l.cy)/l.half
	under := 1 - 4*l.bend*(dx*dx+dy*dy)
	if under < 0 {
		return Pixel{}, false
	}
	k := 2 / (1 + math.Sqrt(under))
	return Pixel{l.cx + (p.X-l.cx)*k, l.cy + (p.Y-l.cy)*k}, true
}

// Limits of what is taken for a straight line, and for its bending.
const (
	maxBend        = 0.5
	maxStraight    = 10 // lines
	maxLinePoints  = 100
	vagueBend      = 0.05 // standard deviation above which lines say nothing
	lineClickSigma = 1.0  // pixels
)

// findBend estimates the bending from points clicked along lines that are
// straight in the world, with its standard deviation. It minimises the
// distances of the straightened points from their lines.
func findBend(width, height int, lines [][]Pixel) (bend, sigma float64, err error) {
	if err := checkStraight(width, height, lines); err != nil {
		return 0, 0, err
	}
	var n int
	for _, l := range lines {
		n += len(l)
	}
	cost := func(bend float64) float64 {
		l := lensOf(width, height, bend)
		var sum float64
		for _, line := range lines {
			sum += offLine(l, line)
		}
		return sum / (lineClickSigma * lineClickSigma)
	}
	// The valley is a smooth one: a coarse look, then golden sections.
	const steps = 40
	best := 0.0
	for i := -steps; i <= steps; i++ {
		if b := maxBend * float64(i) / steps; cost(b) < cost(best) {
			best = b
		}
	}
	bend = golden(cost, best-maxBend/steps, best+maxBend/steps)
	const h = 1e-3
	curve := (cost(bend+h) - 2*cost(bend) + cost(bend-h)) / (h * h)
	if curve <= 0 {
		return 0, math.Inf(1), nil
	}
	sigma = math.Sqrt(2 / curve)
	if free := n - 2*len(lines) - 1; free > 0 {
		sigma *= math.Sqrt(max(1, cost(bend)/float64(free)))
	}
	return bend, sigma, nil
}

// offLine is the sum of squared distances of a line's points, straightened,
// from the straight line that fits them best, in pixels of the bent picture.
func offLine(l lens, line []Pixel) float64 {
	var mx, my, xx, xy, yy float64
	n := float64(len(line))
	flat := make([]Pixel, len(line))
	for i, p := range line {
		flat[i] = l.straighten(p)
		mx += flat[i].X / n
		my += flat[i].Y / n
	}
	for _, p := range flat {
		dx, dy := p.X-mx, p.Y-my
		xx, xy, yy = xx+dx*dx, xy+dx*dy, yy+dy*dy
	}
	along := math.Atan2(2*xy, xx-yy) / 2
	s, c := math.Sincos(along)
	var sum float64
	for i, p := range flat {
		d := (c*(p.Y-my) - s*(p.X-mx)) * l.factor(line[i])
		sum += d * d
	}
	return sum
}

// golden finds the least value of f between a and b by golden sections.
func golden(f func(float64) float64, a, b float64) float64 {
	ratio := (math.Sqrt(5) - 1) / 2
	c, d := b-ratio*(b-a), a+ratio*(b-a)
	fc, fd := f(c), f(d)
	for b-a > 1e-9 {
		if fc < fd {
			b, d, fd = d, c, fc
			c = b - ratio*(b-a)
			fc = f(c)
		} else {
			a, c, fc = c, d, fd
			d = a + ratio*(b-a)
			fd = f(d)
		}
	}
	return (a + b) / 2
}

func checkStraight(width, height int, lines [][]Pixel) error {
	bad := func(reason string) error {
		return fault.New(fault.Invalid, "measure.findBend", "The straight line can't be used: "+reason+".",
			fault.Field{Name: "straight", Reason: reason})
	}
	if len(lines) > maxStraight {
		return bad("there are too many lines")
	}
	for _, line := range lines {
		if len(line) < 3 || len(line) > maxLinePoints {
			return bad("click at least three places along it, its two ends and between")
		}
		for i, p := range line {
			if !inside(p, width, height) {
				return bad("it leaves the picture")
			}
			for _, q := range line[:i] {
				if math.Hypot(p.X-q.X, p.Y-q.Y) < samePlace {
					return bad("two of its points are on the same place")
				}
			}
		}
	}
	return nil
}
