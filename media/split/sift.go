package split

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// Where several nets are busy most bats that are heard are others'. One's own are
// those at which the picture shows the same thing, whatever they sound like. So what
// is heard like a bat is sifted by what is seen then: by turns it is learnt what the
// likely ones have in common, and each is judged by what was learnt without it
// (expectation maximisation: Dempster, Laird and Rubin 1977). Where that ends depends
// on where it starts: at the next net's bats as well. Who is filmed stands about the
// middle of the picture, so it starts with the sounds at which something moves there.
const (
	siftBelow  = 5.0  // common standard deviations: where balls differ by less from other moments, sounds are sifted,
	siftMore   = 1.2  // which is believed if pictures tell balls so many times more surely,
	siftByFar  = 2.0  // or so many times where it means the same net
	siftFrom   = -3.0 // log odds, by sound and before learning, from which a sound is sifted
	siftGap    = 3.0  // s: for each so many one is sifted however it sounds,
	siftMost   = 48   // but no more in all
	siftApart  = 0.2  // s between two
	siftOne    = 1.5  // s within which one of them is the bat
	siftEmpty  = 1.0  // s from all of them, so that a moment shows no ball
	siftStep   = 0.5  // s between two such moments,
	emptyMost  = 240  // of which so many are enough
	siftUnlike = -1.5 // log odds, by sound and before learning, that half of what is found has at least
	siftRounds = 16
	siftHeard  = 0.0  // log odds that half of the session's bats have at least
	siftHold   = 8    // rounds within which what it started with counts ever less
	siftStays  = 0.35 // share of what it ends at that it must have started with, at least
	siftSame   = 0.01 // change of probability that is none
	siftPrior  = -0.6 // log odds of a sound to be one's own bat
	siftSound  = 0.3  // how much its own log odds count
	siftFeed   = 0.8  // and how much more than elsewhere what is seen before it: it is one's own bowler
	siftOthers = 2.0  // bats of other nets heard for each of the session's: only pictures tell them apart
	siftUnseen = 2.0  // log odds against a ball that was neither heard nor can be seen to fly
	siftAlike  = 0.7  // share of another reading's balls that it finds as well: that one means the same net,
	siftReach  = 0.25 // s within which it finds the same: the next net's ball often follows close
	siftLeast  = 3.5  // balls expected, at least, of a reading that is believed
)

// sift learns from pictures which of the sounds are the session's bat, and goes on
// from there.
func (s *session) sift(ctx context.Context, f Footage, e *eye, work *course) error {
	heard := s.batLike()
	times := make([]float64, len(heard))
	for k, i := range heard {
		times[k] = s.onsets[i].at
	}
	if _, err := s.gazeAt(ctx, f, times, work); err != nil {
		return err
	}
	heard = slices.DeleteFunc(heard, func(i int) bool { return s.viewOf(s.onsets[i].at) == nil })
	if len(heard) < discoverLeast {
		return nil
	}
	own := s.ownBats(heard, s.tellOwn(e, heard, s.apartFrom(times)))
	if len(own) == 0 {
		return nil
	}
	s.lend(own)
	s.judge(s.own)
	return nil
}

// ownBats are those of the onsets heard that are the session's bat, with probabilities p,
// and become what goes on is learnt from; none if most of them are hardly like a bat: at
// the moments of shadow shots there is some sound or other as well.
func (s *session) ownBats(heard []int, p []float64) []int {
	var own []int
	var known []anchor
	for k, i := range heard {
		if p[k] > 0.5 {
			own, known = append(own, i), append(known, anchor{s.onsets[i].at, p[k], true})
		}
	}
	if len(own) == 0 || s.usualOdds(own) < siftUnlike {
		return nil
	}
	s.own = known
	return own
}

// tellOwn gives for each of the onsets heard the probability that it is the session's
// bat, and leaves behind what was learnt. All are seen; empty are moments without a ball.
func (s *session) tellOwn(e *eye, heard []int, empty []example) []float64 {
	best, learnt, most := make([]float64, len(heard)), (*sight)(nil), 0.0
	for _, start := range s.starts(e, heard) {
		p, worth := s.tellFrom(channelsOf(e), heard, start, empty)
		if worth > most && stays(p, start) && e.central(s.sight) {
			best, learnt, most = p, s.sight, worth
		}
	}
	s.sight = learnt
	return best
}

// stays says whether enough of what ends as likely was so at the start.
func stays(p, start []float64) bool {
	same, all := 0.0, 0.0
	for k := range p {
		all += p[k]
		if start[k] > 0.5 {
			same += p[k]
		}
	}
	return same > siftStays*all
}

// tellFrom starts with certain probabilities and gives what they end at, and the log
// likelihood ratio of what is seen and heard if so many of the sounds are the session's
// bat.
func (s *session) tellFrom(channels int, heard []int, start []float64, empty []example) (p []float64, worth float64) {
	p = slices.Clone(start)
	before := slices.Clone(p)
	for round := range siftRounds {
		examples := slices.Clone(empty)
		for k, i := range heard {
			at := s.onsets[i].at
			examples = append(examples, example{s.viewOf(at), at, p[k]})
		}
		s.sight = learnSight(channels, examples)
		worth = s.compete(heard, p, start, max(1-float64(round)/siftHold, 0))
		if round > siftHold && slices.EqualFunc(p, before, func(a, b float64) bool { return math.Abs(a-b) < siftSame }) {
			break
		}
		copy(before, p)
	}
	return p, worth
}

// batLike are the onsets most like a bat's, as many at least as there may be balls,
// ascending.
func (s *session) batLike() []int {
	var all, out []int
	for i := range s.first {
		if at := s.onsets[i].at; at > viewBefore && at < s.seconds-viewAfter {
			all = append(all, i)
		}
	}
	slices.SortStableFunc(all, func(a, b int) int { return cmp.Compare(s.first[b], s.first[a]) })
	for _, i := range all {
		near := func(o int) bool { return math.Abs(s.onsets[o].at-s.onsets[i].at) < siftApart }
		room := len(out) < siftMost && (s.first[i] > siftFrom || float64(len(out)) < s.seconds/siftGap)
		if room && !slices.ContainsFunc(out, near) {
			out = append(out, i)
		}
	}
	slices.Sort(out)
	return out
}

// apartFrom are moments seen that lie apart from times, ascending, spread over the session.
func (s *session) apartFrom(times []float64) []example {
	var out []example
	for v, t := range s.watched(siftStep) {
		k, _ := slices.BinarySearch(times, t-siftEmpty)
		if k == len(times) || times[k] > t+siftEmpty {
			out = append(out, example{v, t, 0})
		}
	}
	return spread(out, emptyMost)
}

// compete sets the probabilities of sounds to be the bat by what is seen at them, and
// by what they started with as far as it is held to. Of those that lie close together
// one is, at most. It gives the log likelihood ratio of all.
func (s *session) compete(heard []int, p, start []float64, held float64) (worth float64) {
	weight := make([]float64, len(heard))
	// Where hardly any is like a bat, it counts by how much more like one each is.
	usual := min(s.usualOdds(heard), 0)
	for k, i := range heard {
		at := s.onsets[i].at
		look := s.sight.evidence(s.viewOf(at), at)
		odds := siftPrior + siftSound*(s.first[i]-usual) + look[feedPart] + look[shotPart]
		worth += math.Log1p(math.Exp(odds))
		weight[k] = math.Exp(odds + held*math.Log(start[k]/(1-start[k])))
	}
	for k, i := range heard {
		sum := 1.0
		for j, o := range heard {
			if math.Abs(s.onsets[o].at-s.onsets[i].at) < siftOne {
				sum += weight[j]
			}
		}
		p[k] = weight[k] / sum
	}
	return worth
}

// lend adds so many log odds to all sounds that those of the session's bats count as heard.
func (s *session) lend(own []int) {
	lent := max(siftHeard-s.usualOdds(own), 0)
	for i := range s.first {
		s.first[i] += lent
	}
}

// amongOthers is the score of a ball where one's own bats had to be sifted. However much
// a sound is like the bat, it is no likelier one's own than the pictures make it.
func (s *session) amongOthers(score float64, c clues, struck bool) float64 {
	switch {
	case struck:
		score += s.trust() * siftFeed * c.feedIn
		return -logAdd(-score, math.Log(siftOthers)-c.feedIn-c.shotIn-c.flight)
	case s.way == nil:
		return score - siftUnseen
	}
	return score
}

// usualOdds are the log odds, by sound and before learning, that half of the onsets have
// at least.
func (s *session) usualOdds(onsets []int) float64 {
	odds := make([]float64, len(onsets))
	for k, i := range onsets {
		odds[k] = s.first[i]
	}
	return middle(odds)
}

// onOwn says whether a way is that of the balls whose bats were sifted: most of them
// are seen on it.
func (s *session) onOwn(w *way) bool {
	met := 0
	for _, a := range s.own {
		if w.passAt(a.at) != nil {
			met++
		}
	}
	return 2*met > len(s.own)
}
