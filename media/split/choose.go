package split

import (
	"math"
	"sort"
)

// How much is looked at.
const (
	lookShort = 600.0 // s: what shorter footage costs matters little
	lookFree  = 240.0 // s of pictures that footage up to that length may cost
	mostShare = 0.8   // of longer footage's pictures, never more
	muteShare = 0.25  // ... and this where there is no sound to go by, to begin with
	perBall   = 8     // windows for each ball seen, where there is no sound
	perDoubt  = 2     // windows a round for each ball expected to be judged wrongly, where there is
)

// What is looked for in long gaps: a ball that nothing was heard of and that
// moves little would otherwise never be seen.
const (
	gapTimes = 1.5 // of the usual gap: longer ones may hide a ball
	gapLeast = 4.5 // s
	gapStep  = 2.0 // s between two places to look at
	gapHides = 0.5 // as likely as anywhere, at a place in a long gap nobody has looked at
	gapBreak = 6.0 // balls that one gap may hide: what is longer is a break
)

// affordable is how many more windows may be looked at now. What short footage
// costs matters little. In long footage with sound it is a sample to learn from,
// and then, for as long as there are doubts, some for each ball that is expected
// to be judged wrongly, however long it is; without, every ball must be seen, and
// each that is seen pays for a search for others.
func (s *session) affordable() int {
	const window = viewBefore + viewAfter
	var spent float64
	for _, v := range s.views {
		spent += v.to - v.from
	}
	left := lookFree*min(lookShort/s.seconds, 1) - spent
	switch {
	case s.heedless:
		left = max(lookFree, muteShare*s.seconds, s.beheld()*perBall*window) - spent
	case spent == 0:
		left = max(left, (sureWanted+emptyWanted+perDoubt*s.doubts)*window)
	default:
		left = max(left, perDoubt*s.doubts*window)
	}
	left = min(left, max(lookFree, mostShare*s.seconds)-spent)
	return max(int(left/window+1e-6), 0)
}

// beheld is how many balls have been seen.
func (s *session) beheld() float64 {
	n := 0.0
	for _, m := range s.moments {
		if m.chosen && m.here > 0.5 && s.viewOf(m.at) != nil {
			n++
		}
	}
	return n
}

// expectedErrors is how many of the balls now proposed, or nearly, are expected
// to be judged wrongly.
func (s *session) expectedErrors() float64 {
	const nearly = 0.15
	var sum float64
	for i, m := range s.moments {
		if m.here >= nearly && s.speaks(i) {
			sum += min(m.here, 1-m.here)
		}
	}
	return sum
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
// move most like a ball first, and how many balls may hide there.
func (s *session) overlooked() (places []float64, hidden float64) {
	var balls []float64
	for _, m := range s.moments {
		if m.chosen && m.here > 0.5 {
			balls = append(balls, m.at)
		}
	}
	usual, long := gapLeast, gapLeast
	if len(balls) > 2 {
		gaps := make([]float64, len(balls)-1)
		for i := range gaps {
			gaps[i] = balls[i+1] - balls[i]
		}
		usual = max(middle(gaps), gapStep)
		long = max(gapTimes*usual, gapLeast)
	}
	learnt := s.pattern.weight >= doubt
	peaks := s.stirred(nil)
	if learnt {
		peaks = s.stirred(&s.pattern)
	}
	last := 0.0
	for _, end := range append(balls, s.seconds) {
		if end-last >= long {
			unseen := 0.0
			for _, t := range peaks {
				if t > last+1 && t < end-1 && s.viewOf(t) == nil {
					places = append(places, t)
				}
			}
			for t := last + tooClose; t < end-1; t += gapStep {
				if s.viewOf(t) == nil {
					unseen += gapStep / usual
					places = append(places, t)
				}
			}
			hidden += min(gapHides*unseen, gapBreak)
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
	return places, hidden
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
func spread[T any](list []T, n int) []T {
	if len(list) <= n {
		return list
	}
	out := make([]T, n)
	for i := range out {
		out[i] = list[(2*i+1)*len(list)/(2*n)]
	}
	return out
}

// firstLooks are the places to look at where nothing is known yet. What moves
// most in long footage may be people who walk through: half of the places lie
// in stretches that show what goes on as a rule, balls among it.
func (s *session) firstLooks() []float64 {
	const (
		stretches = 3
		places    = 15 // in each
	)
	if s.seconds <= lookShort {
		return s.busiest(discoverMost)
	}
	times := s.busiest(discoverMost - stretches*places/2)
	for i := range stretches {
		from := s.seconds * float64(2*i+1) / (2 * stretches)
		for k := range places {
			times = append(times, from+float64(k)*gapStep)
		}
	}
	sort.Float64s(times)
	return times
}
