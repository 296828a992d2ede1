package split

import (
	"context"
	"math"
	"sort"
)

// The second pass decodes pictures where the first is in doubt.
const (
	doubtFrom   = 0.06 // a moment with this probability is worth a look ...
	doubtTo     = 0.95 // ... up to this
	sureLeast   = 5    // fewer sure balls: the pictures must show what a ball is
	sureWanted  = 12   // sure balls to learn from
	emptyWanted = 8    // stretches without a ball to learn from
	lookRounds  = 2
	settleReach = 6 // steps
)

// look finds the balls: by the first pass alone, then with pictures of what is
// in doubt and of some of what is not, to compare it with.
func (s *session) look(ctx context.Context, f Footage, progress func(float64)) error {
	s.learn()
	e := newEye(s.probe.Width, s.probe.Height)
	at := soundShare + packetsShare
	part := (1 - at) / (lookRounds + 1)
	report := func(done float64) { progress(at + part*done) }
	if s.sure() < sureLeast {
		if err := s.discover(ctx, f, e, report); err != nil {
			return err
		}
	}
	for round := range lookRounds {
		at += part
		want := s.unsure()
		if len(want) == 0 {
			break
		}
		if round == 0 {
			want = append(want, s.samples()...)
		}
		if err := s.gazeAt(ctx, f, e, want, report); err != nil {
			return err
		}
		for range rounds {
			s.sight = learnSight(channelsOf(e), s.examples())
			s.study(s.anchors())
			s.propose()
			decide(s.moments)
		}
	}
	return ctx.Err()
}

// sure counts the balls that are beyond doubt.
func (s *session) sure() int {
	n := 0
	for _, m := range s.moments {
		if m.chosen && m.here > doubtTo {
			n++
		}
	}
	return n
}

// gazeAt decodes what has not been seen yet around times.
func (s *session) gazeAt(ctx context.Context, f Footage, e *eye, times []float64, progress func(float64)) error {
	todo := s.views.stretches(times, s.seconds)
	for i, span := range todo {
		v, err := gaze(ctx, f, e, span[0], span[1])
		if err != nil {
			return err
		}
		s.views = s.views.add(v)
		progress(float64(i+1) / float64(len(todo)))
	}
	return nil
}

// unsure lists the moments in doubt, the likeliest of those that lie together.
func (s *session) unsure() []float64 {
	var out []float64
	for i, m := range s.moments {
		if m.here < doubtFrom || m.here > doubtTo {
			continue
		}
		best := true
		for j := i - 1; j >= 0 && m.at-s.moments[j].at < aboutHere && best; j-- {
			best = s.moments[j].p < m.p
		}
		for j := i + 1; j < len(s.moments) && s.moments[j].at-m.at < aboutHere && best; j++ {
			best = s.moments[j].p <= m.p
		}
		if best {
			out = append(out, m.at)
		}
	}
	return out
}

// samples picks sure balls and empty stretches, spread over the session.
func (s *session) samples() []float64 {
	var sure, empty []float64
	last := 0.0
	for _, m := range s.moments {
		if !m.chosen {
			continue
		}
		if m.here > doubtTo {
			sure = append(sure, m.at)
		}
		if m.at-last > 3*viewBefore {
			empty = append(empty, (m.at+last)/2)
		}
		last = m.at
	}
	return append(spread(sure, sureWanted), spread(empty, emptyWanted)...)
}

// spread picks n of a list, evenly.
func spread(list []float64, n int) []float64 {
	if len(list) <= n {
		return list
	}
	out := make([]float64, n)
	for i := range out {
		out[i] = list[(2*i+1)*len(list)/(2*n)]
	}
	return out
}

// viewOf is the view that shows t with what comes before and after, or nil.
func (s *session) viewOf(t float64) *view {
	const least = 0.25 // the slack that settling needs
	return s.views.at(max(t-viewBefore+2*least, 0), min(t+viewAfter-2*least, s.seconds))
}

// settle moves a time to where the picture says that the ball passed.
func (s *session) settle(t float64) float64 {
	if s.sight == nil {
		return t
	}
	best, at := 0.0, t
	for i := -settleReach; i <= settleReach; i++ {
		u := t + float64(i)*stirStep
		v := s.viewOf(u)
		if v == nil || u < v.from {
			continue
		}
		k := int(math.Round((u - v.from) / stirStep))
		if line := s.sight.line(v); k < len(line) && line[k] > best {
			best, at = line[k], v.from+float64(k)*stirStep
		}
	}
	return at
}

// examples are what has been seen so far: balls, and stretches in which there
// is none.
func (s *session) examples() []example {
	var out []example
	for _, m := range s.moments {
		v := s.viewOf(m.at)
		if v == nil || !m.chosen && m.here > 0.5 {
			continue
		}
		p := m.here
		if !m.chosen {
			p = min(p, 0.2)
		}
		out = append(out, example{v, m.at, p})
	}
	for _, v := range s.views {
		for t := v.from + viewBefore; t <= v.to-viewAfter; t += 0.4 {
			i := sort.Search(len(s.moments), func(i int) bool { return s.moments[i].at > t-1 })
			free := s.viewOf(t) == v
			for ; i < len(s.moments) && s.moments[i].at < t+1 && free; i++ {
				free = s.moments[i].here < doubtFrom
			}
			if free {
				out = append(out, example{v, t, 0})
			}
		}
	}
	return out
}
