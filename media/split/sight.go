package split

import "sort"

// Sight is the grid learnt several times, each time without a share of the
// session: what a moment shows is judged by a grid that has not learnt from it
// nor from what lies beside it. Thousands of channels and a few dozen balls
// would otherwise always agree.
type sight struct {
	folds []*grid
	all   *grid     // their mean
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
	for fold := range sightFolds {
		var rest []example
		for _, ex := range examples {
			if s.fold(ex.at) != fold {
				rest = append(rest, ex)
			}
		}
		s.folds = append(s.folds, learnGrid(channels, rest))
	}
	s.all = blend(s.folds)
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
func (s *sight) match(v *view, t float64) [2]float64 { return s.folds[s.fold(t)].match(v, t) }

// evidence is the log likelihood ratio of each part for a ball at t.
func (s *sight) evidence(v *view, t float64) [2]float64 {
	m := s.match(v, t)
	return [2]float64{s.fits[0].evidence(m[0]), s.fits[1].evidence(m[1])}
}

// line is how well a view fits along its length, both parts together, in steps
// of stirStep from its start. It is not bounded: a bounded one would have no
// peak to settle on.
func (s *sight) line(v *view) []float64 {
	line, ok := s.lines[v]
	if !ok {
		for t := v.from; t <= v.to; t += stirStep {
			m := s.match(v, t)
			line = append(line, s.fits[0].ratio(m[0])+s.fits[1].ratio(m[1]))
		}
		s.lines[v] = line
	}
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
