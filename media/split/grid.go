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
	learnt bool           // false when there was nothing to learn from
	cues   [gridLen][]cue // what each step goes by: most channels tell nothing
	usual  [gridLen]float32
}

// cue is one channel of one step that differs where a ball is played.
type cue struct {
	channel int32
	weight  float32
}

// example is a moment that has been seen, with the probability that it is a
// ball's contact.
type example struct {
	view *view
	at   float64
	p    float64
}

// tally sums up what examples show of each channel: at each step where there is
// a ball, over all steps where there is none.
type tally struct {
	channels           int
	yes, no            float64
	mean, square       []float64 // gridLen x channels
	usual, usualSquare []float64
}

func newTally(channels int) *tally {
	n := gridLen * channels
	return &tally{channels: channels, mean: make([]float64, n), square: make([]float64, n), usual: make([]float64, channels), usualSquare: make([]float64, channels)}
}

// add takes one more example. One with a low probability teaches what is not a
// ball.
func (s *tally) add(ex example) {
	buf := make([]float32, s.channels)
	s.yes += ex.p
	not := (1 - ex.p) / gridLen
	for k := range gridLen {
		row := ex.view.row(ex.at+float64(gridFrom+k)*stirStep, buf)
		if row == nil {
			continue
		}
		s.no += not
		for c, v := range row {
			x := float64(v)
			s.usual[c] += not * x
			s.usualSquare[c] += not * x * x
		}
		if ex.p == 0 {
			continue
		}
		mean, square := s.mean[k*s.channels:], s.square[k*s.channels:]
		for c, v := range row {
			x := float64(v)
			mean[c] += ex.p * x
			square[c] += ex.p * x * x
		}
	}
}

// merge takes all that another has seen.
func (s *tally) merge(o *tally) {
	s.yes, s.no = s.yes+o.yes, s.no+o.no
	for i := range s.mean {
		s.mean[i] += o.mean[i]
		s.square[i] += o.square[i]
	}
	for c := range s.usual {
		s.usual[c] += o.usual[c]
		s.usualSquare[c] += o.usualSquare[c]
	}
}

// grid learns from what was summed up. Too few balls teach nothing: the grid
// then matches everything alike.
func (s *tally) grid() *grid {
	g := &grid{}
	if s.yes < 2 {
		return g
	}
	g.learnt = true
	no := s.no
	for c := range s.channels {
		usual, usualSquare := s.usual[c], s.usualSquare[c]
		// Without examples of anything else, a ball's own quiet moments must do.
		if s.no < 2 {
			for k := range gridLen {
				usual += s.mean[k*s.channels+c] / gridLen
				usualSquare += s.square[k*s.channels+c] / gridLen
			}
			no = s.no + s.yes
		}
		m0 := usual / no
		v0 := max(usualSquare/no-m0*m0, 0)
		for k := range gridLen {
			i := k*s.channels + c
			m1 := s.mean[i] / s.yes
			v1 := max(s.square[i]/s.yes-m1*m1, 0)
			spread := (v0+v1)/2 + 25
			d := m1 - m0
			sure := math.Abs(d) / math.Sqrt(spread*(1/s.yes+1/max(no, 1)))
			if sure > gridSure {
				w := d / spread * (1 - gridSure/sure)
				g.cues[k] = append(g.cues[k], cue{int32(c), float32(w)})
				g.usual[k] += float32(w * m0)
			}
		}
	}
	return g
}

// weigh says how well a row goes with one step of the pattern.
func (g *grid) weigh(step int, row []float32) float64 {
	sum := -g.usual[step]
	for _, q := range g.cues[step] {
		sum += q.weight * row[q.channel]
	}
	return float64(sum)
}

// match says how well what a view shows follows each part of the pattern,
// around each of n times from t on, stirStep apart.
func (g *grid) match(v *view, t float64, n int) [][2]float64 {
	best := make([][2]float64, n)
	if !g.learnt {
		return best
	}
	buf := make([]float32, v.channels)
	// Each step of the view is weighed against each step of the pattern that it
	// may stand for: once for all the times of which that is so.
	sums := make([][2][2*feedSlack + 1]float64, n)
	for j := gridFrom - feedSlack; j < n+gridTo+feedSlack; j++ {
		row := v.row(t+float64(j)*stirStep, buf)
		if row == nil {
			continue
		}
		for k := gridFrom; k <= gridTo; k++ {
			part, slack := feedPart, feedSlack
			if k >= gridShot {
				part, slack = shotPart, shotSlack
			}
			first, last := max(j-k-slack, 0), min(j-k+slack, n-1)
			if first > last {
				continue
			}
			fit := g.weigh(k-gridFrom, row)
			for i := first; i <= last; i++ {
				sums[i][part][j-k-i+feedSlack] += fit
			}
		}
	}
	for i := range best {
		feed, shot := math.Inf(-1), math.Inf(-1)
		for k, s := range sums[i][feedPart] {
			feed = max(feed, s-0.02*math.Abs(float64(k-feedSlack))*math.Abs(s))
		}
		for k := feedSlack - shotSlack; k <= feedSlack+shotSlack; k++ {
			shot = max(shot, sums[i][shotPart][k])
		}
		best[i][feedPart], best[i][shotPart] = feed, shot
	}
	return best
}
