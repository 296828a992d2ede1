package split

import (
	"math"
	"slices"
	"sort"
)

// Where a ball is seen to pass is less sure than when a bat is heard.
const (
	strikeReach  = 0.45 // s around where a ball was taken to pass in which its bat may be heard,
	strikeLike   = -3.5 // log odds of its sound, at least,
	strikeChance = 0.1  // while by chance one as good lies there less often than this;
	strikeHeard  = 0.33 // share of balls whose bats are heard: if fewer are, as from afar or by a dull microphone,
	strikeFaint  = -6.0 // log odds are enough,
	strikeClose  = 0.25 // s around it,
	strikeRare   = 0.02 // while hardly anything as good is heard elsewhere
	strikeLate   = 0.22 // s after a ball was taken, or seen, to pass in which its bat may be heard: later it is the net,
	strikeSoon   = 0.25 // and before it passed while it was seen to come: sooner it is another's (invented scenes)
	turnTells    = 7.0  // times as often a struck ball is seen to turn as another (of 211 in drawn films)
)

// strike turns a ball that was taken for unstruck into a struck one where something like a
// bat is heard near its passing and hardly elsewhere, or where it was seen to turn and
// something that may be its bat is heard. What is dull and comes before may be its bounce.
func (s *session) strike() {
	if s.silent() {
		return
	}
	elsewhere, least := s.batsElsewhere(), strikeLike
	if s.batsHeard() < strikeHeard {
		least = strikeFaint
	}
	for i := range s.moments {
		m := &s.moments[i]
		if !m.chosen || m.struck || m.said {
			continue
		}
		best, like := -1, least
		from, to := s.strikeSpan(m.at)
		for k, o := range within(s.onsets, from, to) {
			if o.at < m.at && kindOf(o) == 0 {
				continue
			}
			l := s.likeBat(k)
			if l < strikeLike && math.Abs(o.at-m.at) > strikeClose {
				continue
			}
			if l > like {
				best, like = k, l
			}
		}
		more := len(elsewhere) - sort.SearchFloat64s(elsewhere, like)
		chance := strikeChance
		if like < strikeLike {
			chance = strikeRare
		}
		if best >= 0 && float64(more) < chance*s.seconds/(2*strikeReach) {
			m.struck, m.onset, m.at = true, best, s.onsets[best].at
		} else if s.way != nil {
			if p := s.way.passAt(m.at); p != nil && p.turned && s.struck(i) > 1/(1+turnTells) {
				m.struck, m.at = true, p.at
			}
		}
	}
	byTime(s.moments)
}

// strikeSpan is when the bat may be heard of a ball that was taken to pass at t.
func (s *session) strikeSpan(t float64) (from, to float64) {
	from, to = t-strikeReach, t+strikeReach
	if s.way == nil {
		return from, to
	}
	if p := s.way.passAt(t); p != nil && p.came.points > 0 {
		from, to = max(from, min(p.came.to.t, p.at)-strikeSoon), min(to, max(t, p.at)+strikeLate)
	}
	return from, to
}

// batsHeard is the share of the balls found whose bat is heard.
func (s *session) batsHeard() float64 {
	heard, balls := 0, 0
	for _, m := range s.moments {
		if m.chosen {
			balls++
			if m.struck {
				heard++
			}
		}
	}
	return float64(heard) / float64(max(balls, 1))
}

// likeBat is how like this session's bat onset k sounds, in log odds, with what was lent.
func (s *session) likeBat(k int) float64 { return s.first[k] + s.colour.evidence(s.onsets[k], 0) }

// batsElsewhere lists how like a bat what is heard away from balls sounds, ascending.
func (s *session) batsElsewhere() []float64 {
	var balls, out []float64
	for _, m := range s.moments {
		if m.chosen {
			balls = append(balls, m.at)
		}
	}
	for k, o := range s.onsets {
		next := sort.SearchFloat64s(balls, o.at-strikeReach)
		if next == len(balls) || balls[next] > o.at+strikeReach {
			out = append(out, s.likeBat(k))
		}
	}
	slices.Sort(out)
	return out
}
