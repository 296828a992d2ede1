package split

import (
	"slices"
	"sort"
)

// Sight is the grid learnt several times, each time without a share of the
// session: what a moment shows is judged by a grid that has not learnt from it
// nor from what lies beside it. Thousands of channels and a few dozen balls
// would otherwise always agree.
type sight struct {
	folds []*grid
	balls []float64 // s, ascending: each with what lies around it belongs to one fold
	fits  [2]contrast
	lines map[*view][]float64 // of each view, how well it fits at each step from its start
}

const sightFolds = 4

func learnSight(channels int, examples []example) *sight {
	s := &sight{lines: map[*view][]float64{}}
	for _, ex := range examples {
		if ex.p > 0.5 {
			s.balls = append(s.balls, ex.at)
		}
	}
	sort.Float64s(s.balls)
	var shown [sightFolds]*tally
	for fold := range shown {
		shown[fold] = newTally(channels)
	}
	for _, ex := range examples {
		shown[s.fold(ex.at)].add(ex)
	}
	for fold := range shown {
		rest := newTally(channels)
		for other := range shown {
			if other != fold {
				rest.merge(shown[other])
			}
		}
		s.folds = append(s.folds, rest.grid())
	}
	for _, ex := range examples {
		m := s.match(ex.view, ex.at)
		for part := range m {
			s.fits[part].yes.add(m[part], ex.p)
			s.fits[part].no.add(m[part], 1-ex.p)
		}
	}
	return s
}

// fold is the fold of the ball next to t.
func (s *sight) fold(t float64) int {
	i := sort.SearchFloat64s(s.balls, t)
	if i == len(s.balls) || i > 0 && t-s.balls[i-1] < s.balls[i]-t {
		i--
	}
	return max(i, 0) % sightFolds
}

// match is by the grid that has learnt nothing from around this moment.
func (s *sight) match(v *view, t float64) [2]float64 { return s.folds[s.fold(t)].match(v, t, 1)[0] }

// evidence is the log likelihood ratio of each part for a ball at t.
func (s *sight) evidence(v *view, t float64) [2]float64 {
	m := s.match(v, t)
	return [2]float64{s.fits[0].evidence(m[0]), s.fits[1].evidence(m[1])}
}

// line is how well a view fits along its length, both parts together, in steps
// of stirStep from its start. It is not bounded: a bounded one would have no
// peak to settle on.
func (s *sight) line(v *view) []float64 {
	if line, ok := s.lines[v]; ok {
		return line
	}
	steps := int((v.to-v.from)/stirStep+1e-6) + 1
	line := make([]float64, 0, steps)
	at := func(k int) float64 { return v.from + float64(k)*stirStep }
	for from := 0; from < steps; from = len(line) {
		fold, to := s.fold(at(from)), from+1
		for to < steps && s.fold(at(to)) == fold {
			to++
		}
		for _, m := range s.folds[fold].match(v, at(from), to-from) {
			line = append(line, s.fits[0].ratio(m[0])+s.fits[1].ratio(m[1]))
		}
	}
	s.lines[v] = line
	return line
}

// peaks are the times in a view at which it fits best, if it fits at all.
func (s *sight) peaks(v *view) []float64 {
	const apart = 8 // steps
	line := s.line(v)
	var out []float64
	for k, fit := range line {
		top := fit > 0
		for j := max(k-apart, 0); j <= min(k+apart, len(line)-1) && top; j++ {
			top = line[j] < fit || j >= k && line[j] == fit
		}
		if top {
			out = append(out, v.from+float64(k)*stirStep)
		}
	}
	return out
}

// learnt says whether there was anything to learn from.
func (s *sight) learnt() bool {
	return slices.ContainsFunc(s.folds, func(g *grid) bool { return g.learnt })
}

// shotCells weighs each of the picture's cells by what it tells at contact itself.
func (s *sight) shotCells(cells int) []float64 {
	out := make([]float64, cells)
	mean := make([]float32, cells) // of the folds
	for k := -swingCore - gridFrom; k <= swingCore-gridFrom; k++ {
		clear(mean)
		for _, g := range s.folds {
			for _, q := range g.cues[k] {
				if int(q.channel) < cells {
					mean[q.channel] += q.weight / sightFolds
				}
			}
		}
		for c, w := range mean {
			out[c] += max(float64(w), 0)
		}
	}
	return out
}
