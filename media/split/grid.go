package split

import "math"

// A grid is the pattern of a ball in the picture: which channels change when,
// relative to contact. Like pattern it has two parts, and it is learnt from
// the session's own balls against everything else that was seen.
const (
	gridFrom  = -22 // steps of stirStep: 1.1 s before contact
	gridShot  = -4
	gridTo    = 11
	gridLen   = gridTo - gridFrom + 1
	feedSlack = 4 // steps by which feed and flight may come earlier or later
	shotSlack = 1
	gridSure  = 1.5 // standard errors: a cell that differs by less is left out
)

type grid struct {
	channels int
	weight   []float32 // gridLen x channels; nil when there was nothing to learn from
	usual    []float32 // gridLen: what the weights give when no ball is played
}

// example is a moment that has been seen, with the probability that it is a
// ball's contact.
type example struct {
	view *view
	at   float64
	p    float64
}

// learnGrid learns from examples. Those with a low probability teach what is
// not a ball. Too few balls teach nothing: the grid then matches everything
// alike.
func learnGrid(channels int, examples []example) *grid {
	g := &grid{channels: channels}
	n := gridLen * channels
	mean, square := make([]float64, n), make([]float64, n)
	usual, usualSquare := make([]float64, channels), make([]float64, channels)
	var yes, no float64
	buf := make([]float32, channels)
	for _, ex := range examples {
		yes += ex.p
		for k := range gridLen {
			row := ex.view.row(ex.at+float64(gridFrom+k)*stirStep, buf)
			if row == nil {
				continue
			}
			no += (1 - ex.p) / gridLen
			for c, v := range row {
				x := float64(v)
				mean[k*channels+c] += ex.p * x
				square[k*channels+c] += ex.p * x * x
				usual[c] += (1 - ex.p) * x / gridLen
				usualSquare[c] += (1 - ex.p) * x * x / gridLen
			}
		}
	}
	if yes < 2 {
		return g
	}
	// Without examples of anything else, a ball's own quiet moments must do.
	if no < 2 {
		for c := range channels {
			for k := range gridLen {
				usual[c] += mean[k*channels+c] / gridLen
				usualSquare[c] += square[k*channels+c] / gridLen
			}
		}
		no += yes
	}
	g.usual, g.weight = make([]float32, gridLen), make([]float32, n)
	for c := range channels {
		m0 := usual[c] / no
		v0 := max(usualSquare[c]/no-m0*m0, 0)
		for k := range gridLen {
			i := k*channels + c
			m1 := mean[i] / yes
			v1 := max(square[i]/yes-m1*m1, 0)
			spread := (v0+v1)/2 + 25
			d := m1 - m0
			sure := math.Abs(d) / math.Sqrt(spread*(1/yes+1/max(no, 1)))
			if sure > gridSure {
				w := d / spread * (1 - gridSure/sure)
				g.weight[i] = float32(w)
				g.usual[k] += float32(w * m0)
			}
		}
	}
	return g
}

// match says how well what a view shows around t follows each part.
func (g *grid) match(v *view, t float64) [2]float64 {
	var best [2]float64
	if g.weight == nil {
		return best
	}
	buf := make([]float32, g.channels)
	// Each step of the view is weighed against each step of the pattern that
	// it may stand for.
	var sums [2][2*feedSlack + 1]float64
	for j := gridFrom - feedSlack; j <= gridTo+feedSlack; j++ {
		row := v.row(t+float64(j)*stirStep, buf)
		if row == nil {
			continue
		}
		for slack := -feedSlack; slack <= feedSlack; slack++ {
			k := j - slack
			if k < gridFrom || k > gridTo {
				continue
			}
			part := feedPart
			if k >= gridShot {
				part = shotPart
				if slack < -shotSlack || slack > shotSlack {
					continue
				}
			}
			w := g.weight[(k-gridFrom)*g.channels : (k-gridFrom+1)*g.channels]
			sum := -g.usual[k-gridFrom]
			for c, x := range row {
				sum += w[c] * x
			}
			sums[part][slack+feedSlack] += float64(sum)
		}
	}
	best[feedPart], best[shotPart] = math.Inf(-1), math.Inf(-1)
	for i, s := range sums[feedPart] {
		best[feedPart] = max(best[feedPart], s-0.02*math.Abs(float64(i-feedSlack))*math.Abs(s))
	}
	for i := feedSlack - shotSlack; i <= feedSlack+shotSlack; i++ {
		best[shotPart] = max(best[shotPart], sums[shotPart][i])
	}
	return best
}

// blend is the mean of several grids.
func blend(grids []*grid) *grid {
	out := &grid{}
	for _, g := range grids {
		if g.weight == nil {
			continue
		}
		if out.weight == nil {
			out.channels, out.weight, out.usual = g.channels, make([]float32, len(g.weight)), make([]float32, gridLen)
		}
		for i, w := range g.weight {
			out.weight[i] += w / float32(len(grids))
		}
		for k, u := range g.usual {
			out.usual[k] += u / float32(len(grids))
		}
	}
	return out
}
