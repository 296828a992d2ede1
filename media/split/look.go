package split

import (
	"context"
	"math"
	"runtime"
	"sort"
)

// The second pass decodes pictures where the first is in doubt.
const (
	doubtFrom   = 0.04 // a moment with this probability is worth a look ...
	doubtTo     = 0.95 // ... up to this
	sureLeast   = 5    // fewer sure balls: the pictures must show what a ball is
	sureWanted  = 12   // sure balls to learn from
	emptyWanted = 8    // stretches without a ball to learn from
	lookRounds  = 6
	roundLeast  = 64 // windows of one round; later ones may double what was seen
	settleReach = 6  // steps
)

// What is looked for in long gaps: a ball that nothing was heard of and that
// moves little would otherwise never be seen.
const (
	gapTimes  = 1.5   // of the usual gap: longer ones may hide a ball
	gapLeast  = 4.5   // s
	gapStep   = 2.0   // s between two places to look at
	lookShort = 600.0 // s: in longer files with sound not more than ...
	gapMost   = 16    // ... so many places are looked at each time
	lookFree  = 240.0 // s of pictures that a file up to that length may cost
	muteShare = 0.25  // of a longer file's pictures may be decoded where there is no sound to go by

	unsureTeacher = 0.4 // how much a ball that only looks like one teaches
)

// look finds the balls: by the first pass alone, then with pictures of what is
// in doubt and of some of what is not, to compare it with.
func (s *session) look(ctx context.Context, f Footage, progress func(float64)) error {
	s.learn()
	e := newEye(s.probe.Width, s.probe.Height)
	at := surveyShare
	part := (1 - at) / (lookRounds + 1)
	report := func(done float64) { progress(at + part*done) }
	s.doubts = s.expectedErrors()
	if s.heedless = s.silent() || s.sure() < sureLeast; s.sure() < sureLeast {
		if err := s.discover(ctx, f, e, report); err != nil {
			return err
		}
	}
	for round := range lookRounds {
		at += part
		want := s.unsure()
		if round == 0 {
			want = append(s.samples(), want...)
		} else {
			want = append(want, s.overlooked()...)
		}
		want = want[:min(len(want), s.affordable(), max(roundLeast, len(s.views)))]
		before := len(s.views)
		if err := s.gazeAt(ctx, f, want, report); err != nil {
			return err
		}
		if round > 0 && len(s.views) == before {
			break
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

// expectedErrors is how many of the balls now proposed, or not, are expected to
// be judged wrongly.
func (s *session) expectedErrors() float64 {
	var sum float64
	for i, m := range s.moments {
		if m.here >= doubtFrom && s.speaks(i) {
			sum += min(m.here, 1-m.here)
		}
	}
	return sum
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

// eyesMost is how many stretches are looked at at a time: each is decoded on
// one core.
const eyesMost = 4

// gazeAt decodes what has not been seen yet around times.
func (s *session) gazeAt(ctx context.Context, f Footage, times []float64, progress func(float64)) error {
	todo := s.views.stretches(times, s.seconds)
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	spans, seen := make(chan [2]float64, len(todo)), make(chan *view)
	for _, span := range todo {
		spans <- span
	}
	close(spans)
	for range min(runtime.GOMAXPROCS(0), eyesMost, len(todo)) {
		go func() {
			for span := range spans {
				v, err := gaze(ctx, f, s.probe, span[0], span[1])
				if err != nil {
					stop(err)
				}
				seen <- v
			}
		}()
	}
	for i := range todo {
		s.views = s.views.add(<-seen)
		progress(float64(i+1) / float64(len(todo)))
	}
	return context.Cause(ctx)
}

// unsure lists the moments in doubt, the likeliest of those that lie together,
// the most doubtful first.
func (s *session) unsure() []float64 {
	var out []float64
	doubtful := map[float64]float64{}
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
		if best && s.viewOf(m.at) == nil {
			out = append(out, m.at)
			doubtful[m.at] = math.Abs(m.here - 0.5)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return doubtful[out[i]] < doubtful[out[j]] })
	return out
}

// overlooked lists places in long gaps that nobody has looked at, those that
// move most like a ball first.
func (s *session) overlooked() []float64 {
	var balls []float64
	for _, m := range s.moments {
		if m.chosen && m.here > 0.5 {
			balls = append(balls, m.at)
		}
	}
	long := gapLeast
	if len(balls) > 2 {
		gaps := make([]float64, len(balls)-1)
		for i := range gaps {
			gaps[i] = balls[i+1] - balls[i]
		}
		sort.Float64s(gaps)
		long = max(gapTimes*gaps[len(gaps)/2], gapLeast)
	}
	var places []float64
	learnt := s.pattern.weight >= doubt
	peaks := s.stirred(nil)
	if learnt {
		peaks = s.stirred(&s.pattern)
	}
	last := 0.0
	for _, end := range append(balls, s.seconds) {
		if end-last >= long {
			for _, t := range peaks {
				if t > last+1 && t < end-1 && s.viewOf(t) == nil {
					places = append(places, t)
				}
			}
			for t := last + tooClose; t < end-1; t += gapStep {
				if s.viewOf(t) == nil {
					places = append(places, t)
				}
			}
		}
		last = end
	}
	worth := make(map[float64]float64, len(places))
	for _, t := range places {
		if worth[t] = s.motion.burst(s.motion.step(t)); learnt {
			e := s.pattern.evidence(t, 0)
			worth[t] = e[feedPart] + e[shotPart]
		}
	}
	sort.SliceStable(places, func(i, j int) bool { return worth[places[i]] > worth[places[j]] })
	if !s.silent() && s.seconds > lookShort {
		places = places[:min(len(places), gapMost)]
	}
	return places
}

// affordable is how many more windows may be looked at. What short footage
// costs matters little. In long footage with sound it is a sample to learn from
// and one window for each ball that is expected to be judged wrongly, however
// long it is; without, every ball must be seen.
func (s *session) affordable() int {
	const window = viewBefore + viewAfter
	left := lookFree * min(lookShort/s.seconds, 1)
	if s.heedless {
		left = max(lookFree, muteShare*s.seconds)
	} else {
		left = max(left, min((sureWanted+emptyWanted+s.doubts)*window, lookFree))
	}
	for _, v := range s.views {
		left -= v.to - v.from
	}
	return max(int(left/(viewBefore+viewAfter)), 0)
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
		switch {
		case !m.chosen:
			p = min(p, 0.2)
		case !m.struck && m.clues.flight <= 0 && !m.said && !s.silent():
			// Nothing was heard and nothing seen to fly: what rests on the grid
			// alone must not teach it.
			p *= unsureTeacher
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
