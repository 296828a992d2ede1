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
// (expectation maximisation: Dempster, Laird and Rubin 1977).
const (
	siftBelow  = 4.0  // common standard deviations: where balls differ by less from other moments, sounds are sifted,
	siftMore   = 1.0  // which is believed if they differ by so many more
	siftFrom   = -3.0 // log odds, by sound and before learning, from which a sound is sifted
	siftMost   = 48   // sounds, the likeliest
	siftApart  = 0.2  // s between two
	siftOne    = 1.5  // s within which one of them is the bat
	siftEmpty  = 1.0  // s from all of them, so that a moment shows no ball
	siftStep   = 0.5  // s between two such moments
	siftFirst  = 0.2  // probability that a sound begins with, at least, and that it begins without
	siftRounds = 16
	siftPrior  = -0.6 // log odds of a sound to be one's own bat
	siftSound  = 0.3  // how much its own log odds count
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
	var anchors []anchor
	for k, p := range s.tellOwn(channelsOf(e), heard, s.apartFrom(times)) {
		if p > 0.5 {
			anchors = append(anchors, anchor{s.onsets[heard[k]].at, p, true})
		}
	}
	s.judge(anchors)
	return nil
}

// tellOwn gives for each of the onsets heard the probability that it is the session's
// bat, and leaves behind what was learnt. All are seen; empty are moments without a ball.
func (s *session) tellOwn(channels int, heard []int, empty []example) []float64 {
	p := make([]float64, len(heard))
	for k, i := range heard {
		p[k] = min(max(sigmoid(s.first[i]), siftFirst), 1-siftFirst)
	}
	for range siftRounds {
		examples := slices.Clone(empty)
		for k, i := range heard {
			at := s.onsets[i].at
			examples = append(examples, example{s.viewOf(at), at, p[k]})
		}
		s.sight = learnSight(channels, examples)
		s.compete(heard, p)
	}
	return p
}

// batLike are the onsets most like a bat's, ascending.
func (s *session) batLike() []int {
	var all, out []int
	for i, odds := range s.first {
		if at := s.onsets[i].at; odds > siftFrom && at > viewBefore && at < s.seconds-viewAfter {
			all = append(all, i)
		}
	}
	slices.SortStableFunc(all, func(a, b int) int { return cmp.Compare(s.first[b], s.first[a]) })
	for _, i := range all {
		near := func(o int) bool { return math.Abs(s.onsets[o].at-s.onsets[i].at) < siftApart }
		if len(out) < siftMost && !slices.ContainsFunc(out, near) {
			out = append(out, i)
		}
	}
	slices.Sort(out)
	return out
}

// apartFrom are moments seen that lie apart from times, ascending.
func (s *session) apartFrom(times []float64) []example {
	var out []example
	for v, t := range s.watched(siftStep) {
		k, _ := slices.BinarySearch(times, t-siftEmpty)
		if k == len(times) || times[k] > t+siftEmpty {
			out = append(out, example{v, t, 0})
		}
	}
	return out
}

// compete sets the probabilities of sounds to be the bat by what is seen at them.
// Of those that lie close together one is, at most.
func (s *session) compete(heard []int, p []float64) {
	weight := make([]float64, len(heard))
	for k, i := range heard {
		at := s.onsets[i].at
		look := s.sight.evidence(s.viewOf(at), at)
		weight[k] = math.Exp(siftPrior + siftSound*s.first[i] + look[feedPart] + look[shotPart])
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
}
