package split

import (
	"math"
	"slices"
)

// The next net's batter may be seen as well as one's own, and is the only one who is
// bowled at while one's own takes guard, talks or plays shadow shots.
const (
	besideEdge  = 1.0 / 6 // of the picture's width: whoever bats as near to its sides is not who is filmed
	insideLeast = 0.2     // share of what moves at contact that lies farther in, at least
	besideMost  = 12.0    // log odds against balls at which nothing does,
	besideTaken = 5.0     // from which they are left out as the next net's,
	besideLeast = 3       // balls from which that can be told

	besideMoves = 0.19 // of the width: what moves at contact lies farther from the middle,
	besideEnds  = 0.18 // and no ball that is seen to come ends nearer to it than this, half of them,
	besideBusy  = 0.55 // while somebody who stands in the middle moves by this much of what who bats does,
	besideOften = 0.95 // more than at such a share of all moments
	besideSpan  = 0.4  // of the width over which balls are followed, across the picture's middle: who is at their end is filmed
	besideReach = 0.1  // of the width that who bats takes up to either side
	besideGrain = 0.2  // s between two moments,
	besideRun   = 1.5  // which lie no nearer before a ball: a bowler runs through the middle
	besideAfter = 0.4  // s, nor after
)

// beside is how sure it is that balls are the next net's: 0 to 1. People who said which
// balls are meant know better; where an earlier split found balls, only who stands at the
// very side is doubted. Whose balls are seen to bounce on their way across the picture's
// middle is filmed; whose balls are followed across two fifths of it is not doubted for the side.
func (s *session) beside(e *eye) float64 {
	switch {
	case len(s.saidAnchors()) > 0 || s.mostBounce() && s.way.bouncesAcross(float64(e.width)/2):
		return 0
	case s.taught.Balls == 0 && s.nextDoor(e):
		return 1
	case s.way != nil && mostSpan(s.way.group, besideSpan*float64(e.width), float64(e.width)/2):
		return 0
	}
	return max(1-s.inside(e)/insideLeast, 0)
}

// takenNextDoor says whether what looked like balls was taken for the next net's.
func (s *session) takenNextDoor() bool { return s.against.nextDoor > besideTaken }

// inside is the share of what moves at contact that does not lie at the picture's
// sides: 0 to 1.
func (s *session) inside(e *eye) float64 {
	var inner, all float64
	for c, weight := range s.sight.shotCells(e.cells()) {
		all += weight
		if math.Abs(e.aside(c)) < middleX-besideEdge {
			inner += weight
		}
	}
	if all == 0 {
		return 1
	}
	return inner / all
}

// nextDoor says whether all that is met is met far from the middle of the picture, where
// somebody else moves as much at other times.
func (s *session) nextDoor(e *eye) bool {
	off, ok := e.offset(s.sight)
	if !ok || math.Abs(off) < besideMoves {
		return false
	}
	if s.way != nil {
		if end, seen := s.way.ends(float64(e.width)); seen && math.Abs(end-middleX) < besideEnds || mostCross(s.way.group, float64(e.width)/2) {
			return false
		}
	}
	var bats []float64
	balls := s.anchors()
	for _, a := range balls {
		if v := s.viewOf(a.at); v != nil {
			bats = append(bats, v.mostSwung(e, a.at, off, besideReach))
		}
	}
	return len(bats) >= besideLeast && s.fidgets(e, balls) > besideBusy*middle(bats)
}

// fidgets is how much whoever stands in the middle of the picture moves now and then, other
// than when balls come: in the one cell where that is most. Who walks through moves
// each cell but once.
func (s *session) fidgets(e *eye, balls []anchor) float64 {
	most := 0.0
	for c, moved := range s.usualSwings(e, besideGrain, besideOften, func(t float64) bool {
		return slices.ContainsFunc(balls, func(a anchor) bool { return t > a.at-besideRun && t < a.at+besideAfter })
	}) {
		if math.Abs(e.aside(c)) <= middleMost {
			most = max(most, moved)
		}
	}
	return most
}

// mostSwung is how much moves at t in the cell that moves most of those within reach of a
// place, both as shares of the picture's width from its middle.
func (v *view) mostSwung(e *eye, t, place, reach float64) float64 {
	most := 0.0
	for c, moved := range v.swing(t) {
		if math.Abs(e.aside(c)-place) <= reach {
			most = max(most, moved)
		}
	}
	return most
}

// bouncesAcross says whether most balls that were seen to bounce came across the middle of
// the picture.
func (w *way) bouncesAcross(mid float64) bool {
	whole := make([]arc, len(w.bounced))
	for i, b := range w.bounced {
		whole[i].from, whole[i].to = b.in.from, b.out.to
	}
	return mostCross(whole, mid)
}

// mostSpan says whether most flights go from one side of a place to the other, and half of
// them so far.
func mostSpan(flights []arc, far, x float64) bool {
	return mostCross(flights, x) && middleBy(flights, func(a arc) float64 { return math.Abs(a.to.x - a.from.x) }) >= far
}

// mostCross says whether most flights go from one side of a place to the other, from left
// to right or the other way.
func mostCross(flights []arc, x float64) bool {
	n := 0
	for _, a := range flights {
		if (a.from.x < x) != (a.to.x < x) {
			n++
		}
	}
	return 2*n > len(flights)
}

// ends is where a way's balls end that are seen to come, half of them left of it, as a
// share of a picture of that width; ok if any is.
func (w *way) ends(width float64) (at float64, ok bool) {
	var ends []float64
	for _, p := range w.passes {
		if p.came.points > 0 {
			ends = append(ends, p.came.to.x/width)
		}
	}
	return middle(ends), len(ends) > 0
}
