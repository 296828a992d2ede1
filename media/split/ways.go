package split

import (
	"cmp"
	"math"
	"slices"
)

// learnWay finds the way that balls come, nil if they can't be seen. What is
// known of balls by ear says which of several it is, and where the batter is. It
// is learnt from flights that were followed by brightness and from those by
// colour, and the way is taken that says more of the balls; where few are known, the one that
// shows the other's and many more, and what comes rather than what only goes, which may be the
// next net's. A ball that was only followed by the other one came the same way, if both are.
func (s *session) learnWay(anchors []anchor) *way {
	grey, warm := s.wayBy(anchors, false), s.wayBy(anchors, true)
	believed, other := s.believed(grey, warm, anchors), grey
	if believed == grey {
		other = warm
	}
	if believed != nil && other != nil && believed.isSame(other) {
		believed.join(other)
		s.weighWay(believed, anchors)
	}
	return believed
}

// believed is which of the ways by brightness and by colour is the balls'.
func (s *session) believed(grey, warm *way, anchors []anchor) *way {
	switch {
	case grey == nil:
		return warm
	case warm == nil:
		return grey
	case s.nearerThan(grey, warm):
		return grey
	case s.nearerThan(warm, grey):
		return warm
	case len(anchors) >= wayLeast: // how many balls of what is known they show is told below
	case grey.surpasses(warm):
		return grey
	case warm.surpasses(grey):
		return warm
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

// Of two ways that show the same balls the one that shows many more is believed.
const (
	surpassAll  = 0.8 // share of the other's balls that are seen on it at least,
	surpassMore = 1.4 // while it shows so many times as many
	surpassNear = 0.5 // s between the two times when a ball is said to be met on either
)

// surpasses says whether a way shows nearly all balls that another does, and many more, that
// come alike.
func (w *way) surpasses(o *way) bool {
	if o.known || len(o.passes) < wayLeast || w.ux*o.ux+w.uy*o.uy < wayTurn || float64(len(w.passes)) < surpassMore*float64(len(o.passes)) {
		return false
	}
	both := 0
	for _, p := range o.passes {
		if n := w.near(p.at); n != nil && math.Abs(n.at-p.at) < surpassNear {
			both++
		}
	}
	return float64(both) >= surpassAll*float64(len(o.passes))
}

// sameMeets is how far apart, in pixels, two ways may meet the batter that are one.
const sameMeets = 16.0

// isSame says whether two ways are one, followed in two ways: whether balls come alike,
// are met at the same place, and at least half of the other's were seen on both. The next
// net's may come alike.
func (w *way) isSame(o *way) bool {
	if w.outward() != o.outward() || w.climbs != o.climbs {
		return false
	}
	both := 0
	for _, p := range o.passes {
		if w.passAt(p.at) != nil {
			both++
		}
	}
	if 2*both < len(o.passes) {
		return false
	}
	if w.outward() {
		return math.Hypot(w.x-o.x, w.y-o.y) < sameMeets
	}
	x, y := w.spot(w.meet)
	ox, oy := o.spot(o.meet)
	return w.ux*o.ux+w.uy*o.uy > wayTurn && math.Hypot(x-ox, y-oy) < sameMeets
}

// join adds to a way the balls that were seen on the other one only.
func (w *way) join(o *way) {
	for _, p := range o.passes {
		if n := w.near(p.at); n == nil || math.Abs(n.at-p.at) >= wayApart {
			w.passes = append(w.passes, p)
			inOrder(w.passes)
		}
	}
	for _, b := range o.bounced {
		if !slices.ContainsFunc(w.bounced, func(own bounce) bool { return math.Abs(own.at()-b.at()) < wayApart }) {
			w.bounced = append(w.bounced, b)
		}
	}
	slices.SortStableFunc(w.bounced, func(a, b bounce) int { return cmp.Compare(a.in.to.t, b.in.to.t) })
	if !w.outward() {
		w.leave = leaveShare(w.passes)
	}
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
