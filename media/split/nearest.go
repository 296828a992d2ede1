package split

import (
	"math"
	"slices"
)

// Of nets side by side that are seen from the side the nearest one is filmed, and its
// balls look largest, whether or not they are seen to bounce (nets.go).
const (
	nearerAcross = 0.9 // part of their direction that is level: else it is not seen from the side
	nearerMass   = 2.0 // times larger balls that come nearer to the camera are at least
	nearerWorth  = 2.0 // times as much others may say
	nearerFlown  = 0.6 // of as many flights as others have,
	nearerPassed = 0.5 // and of as many balls that are seen on the way
)

// led is a group of flights that may be the way in, and how much it says.
type led struct {
	group []arc
	worth float64
}

// nearest is what says most of the groups whose balls come nearer to the camera than those
// of the group that says most of all, and that say about as much; that one if there is none.
func nearest(most led, all []led) led {
	best := led{}
	for _, l := range all {
		if l.worth > best.worth && nearerWorth*l.worth >= most.worth && nearer(l.group, most.group) {
			best = l
		}
	}
	if best.group == nil {
		return most
	}
	return best
}

// nearer says whether a group's balls, of which there are nearly as many, come the same way
// as another's, but nearer to the camera. Both are followed by the same plane.
func nearer(group, other []arc) bool {
	return sideways(group, other) && usualMass(group) >= nearerMass*usualMass(other) &&
		float64(len(group)) >= nearerFlown*float64(len(other))
}

// sideways says whether two groups of flights go across the picture, and the same way.
func sideways(group, other []arc) bool {
	w, o := &way{}, &way{}
	w.point(group)
	o.point(other)
	return math.Abs(w.ux) >= nearerAcross && math.Abs(o.ux) >= nearerAcross && w.ux*o.ux > 0
}

// nearerThan says whether a way's balls, which are seen to bounce and of which there are
// nearly as many, come nearer to the camera than another's, which were followed by the other
// plane: in the way's own plane the other's look smaller. Nobody's word is outdone by it, nor
// a way that is known.
func (s *session) nearerThan(w, o *way) bool {
	if o.known || len(s.saidAnchors()) > 0 || !w.sure() || len(w.group) < wayLeast || len(o.group) < wayLeast || !sideways(w.group, o.group) ||
		float64(len(w.passes)) < nearerPassed*float64(len(o.passes)) {
		return false
	}
	var same []arc
	for _, a := range s.comparable(w.warm).arcs {
		if slices.ContainsFunc(o.group, a.isOf) {
			same = append(same, a)
		}
	}
	return len(same) >= wayLeast && usualMass(w.group) >= nearerMass*usualMass(same)
}

// isOf says whether a flight is of the ball that was followed in another plane.
func (a arc) isOf(b arc) bool {
	from, to := max(a.from.t, b.from.t), min(a.to.t, b.to.t)
	return to-from > wayTime && a.along(b) > wayTurn && math.Hypot(a.to.x-b.to.x-a.endX*(a.to.t-b.to.t), a.to.y-b.to.y-a.endY*(a.to.t-b.to.t)) < wayBeside
}
