package split

import "math"

// learnWay finds the way that balls come, nil if they can't be seen. What is
// known of balls by ear says which of several it is, and where the batter is. It
// is learnt from flights that were followed by brightness and from those by
// colour, and the way is taken that says more of the balls; where none are known,
// what comes rather than what only goes, which may be the next net's.
func (s *session) learnWay(anchors []anchor) *way {
	grey, warm := s.wayBy(anchors, false), s.wayBy(anchors, true)
	switch {
	case grey == nil:
		return warm
	case warm == nil:
		return grey
	}
	if len(anchors) < wayLeast && grey.outward() != warm.outward() {
		in, out := grey, warm
		if in.outward() {
			in, out = out, in
		}
		if float64(out.flights) <= outwardLeast(s.comparable(in.warm).arcs, in.group, s.silent()) {
			return in
		}
	}
	if warm.outsays(grey, s.speaksFor(warm, anchors)-s.speaksFor(grey, anchors)) {
		return warm
	}
	return grey
}

// outsays says whether a way is believed rather than another: more is by how much more
// it says of the balls. Where that is next to nothing either way, the one is believed that
// alone has bounces enough.
func (w *way) outsays(o *way, more float64) bool {
	if w.sure() != o.sure() && math.Abs(more) < speaksAlike {
		return w.sure()
	}
	return more > 0
}

// sure says whether balls enough were seen to bounce on a way.
func (w *way) sure() bool { return len(w.bounced) >= bounceTells }

// speaksFor is how much a way says of the balls known so far, in log odds, or of
// itself, where they are too few.
func (s *session) speaksFor(w *way, anchors []anchor) float64 {
	if len(anchors) < wayLeast {
		return w.worth
	}
	var sum float64
	for _, a := range anchors {
		if s.viewOf(a.at) != nil {
			sum += a.p * w.evidence(a.at)
		}
	}
	return sum
}
