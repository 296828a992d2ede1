package split

// Sight is the grid learnt several times, each time without a share of the
// examples: what an example shows is judged by a grid that has not learnt from
// it. Thousands of channels and a few dozen balls would otherwise always agree.
type sight struct {
	folds []*grid
	all   *grid // their mean, for what none has learnt from
	of    map[exampleKey]int
	fits  [2]contrast
	lines map[*view][]float64 // of each view, how well it fits at each step from its start
}

type exampleKey struct {
	view *view
	at   float64
}

const sightFolds = 4

func learnSight(channels int, examples []example) *sight {
	s := &sight{of: make(map[exampleKey]int, len(examples)), lines: map[*view][]float64{}}
	for i, ex := range examples {
		s.of[exampleKey{ex.view, ex.at}] = i % sightFolds
	}
	for fold := range sightFolds {
		var rest []example
		for i, ex := range examples {
			if i%sightFolds != fold {
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

// match is by the grid that has not learnt from this moment, or by
// the mean of all if none has.
func (s *sight) match(v *view, t float64) [2]float64 {
	if fold, ok := s.of[exampleKey{v, t}]; ok {
		return s.folds[fold].match(v, t)
	}
	return s.all.match(v, t)
}

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
			m := s.all.match(v, t)
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
