package split

import (
	"math"
	"slices"
	"sort"
)

// A ball that bounces comes down and from the same place, much as fast in the
// level, goes up again. Hardly anything else in a net does, from whatever side it
// is seen: the surest sign of a ball's way, and of where in it the ground lies.
const (
	bounceFalls  = 40.0 // pixels a second at which it comes down, at least
	bounceRises  = 20.0 // ... and goes up
	bounceEarly  = 0.06 // s by which the way up may be seen before the way down is lost
	bounceLate   = 0.13 // s for which it may be lost at the ground
	bounceOff    = 8.0  // pixels between both
	bounceMass   = 3.5  // times larger or smaller
	bounceTurn   = 0.65 // share of the level speed that may be lost or won,
	bounceDrift  = 60.0 // and pixels a second more
	bounceLength = 10.0 // pixels that it is seen to come down
	bounceRough  = 5.0  // pixels off a smooth curve: the way up is often followed on to the bat and back
	bounceAcross = 0.75 // of its direction is level: less is steep
	bounceSays   = 3    // more bounces say no more for a group
	bounceTells  = 2    // bounces by which a way is sure
	bounceInside = 0.25 // of the picture's width from its sides: who bats nearer to them is not who is filmed
)

// bounce is a flight down and the flight up that it becomes.
type bounce struct{ in, out arc }

// air is what flew in a stretch, ascending by its ends, and the bounces in it.
type air struct {
	arcs    []arc
	bounces []bounce
}

// newAir finds the bounces among flights, which ascend by their ends.
func newAir(arcs []arc) air {
	a := air{arcs: arcs}
	for _, in := range arcs {
		if in.endY < bounceFalls || in.rough > wayRough || in.length() < bounceLength {
			continue
		}
		for _, out := range arcs[sort.Search(len(arcs), func(i int) bool { return arcs[i].to.t > in.to.t }):] {
			if out.rough < bounceRough && in.bouncesInto(out) {
				a.bounces = append(a.bounces, bounce{in, out})
			}
		}
	}
	return a
}

// bouncesOf lists those bounces of which a group has a flight, the
// clearest of each ball, ascending.
func bouncesOf(group []arc, all []bounce) []bounce {
	var out []bounce
	for _, b := range all {
		if !slices.ContainsFunc(group, b.has) {
			continue
		}
		if n := len(out); n > 0 && b.in.to.t-out[n-1].in.to.t < wayApart {
			if b.clear() > out[n-1].clear() {
				out[n-1] = b
			}
			continue
		}
		out = append(out, b)
	}
	return out
}

// has says whether a flight is one of a bounce's two, or the same ball's.
func (b bounce) has(a arc) bool {
	return math.Abs(b.in.to.t-a.to.t) < bounceEarly && b.in.along(a) > wayTurn ||
		math.Abs(b.out.from.t-a.from.t) < bounceEarly && b.out.along(a) > wayTurn
}

// clear is how often a bounce's ball was seen.
func (b bounce) clear() int { return b.in.points + b.out.points }

// inside is how far from the picture's sides a point lies, 1 from bounceInside on.
func (v *view) inside(p flightPoint) float64 {
	return min(max(min(p.x, v.width-p.x)/(bounceInside*v.width), 0), 1)
}

// bouncesInto says whether flight a, which falls, goes on as b after a bounce.
func (a arc) bouncesInto(b arc) bool {
	gap := b.from.t - a.to.t
	if gap < -bounceEarly || gap > bounceLate || b.begY > -bounceRises || b.to.t < a.to.t+bounceEarly/2 ||
		b.from.mass > bounceMass*a.to.mass || a.to.mass > bounceMass*b.from.mass {
		return false
	}
	off := math.Hypot(b.from.x-a.to.x-a.endX*gap, b.from.y-a.to.y)
	return off <= bounceOff+math.Abs(a.endY*gap) && math.Abs(b.begX-a.endX) <= bounceTurn*math.Abs(a.endX)+bounceDrift
}

// bounced is by how much more the bounces of a group's flights make it likely.
func (s *session) bounced(list []bounce) float64 {
	if len(list) == 0 {
		return 1
	}
	inside := 0.0
	for _, b := range list {
		if v := s.viewOf(b.in.to.t); v != nil {
			near := v.inside(b.out.to)
			if steep(list) {
				near *= v.inside(b.in.from)
			}
			inside += near / float64(len(list))
		}
	}
	return (1 + float64(min(len(list), bounceSays))) * inside
}

// steep says whether balls go up the picture rather than across it once they
// have bounced, as they do from behind the arm.
func steep(list []bounce) bool {
	across := 0.0
	for _, b := range list {
		across += math.Abs(b.out.vx) / math.Hypot(b.out.vx, b.out.vy)
	}
	return across < bounceAcross*float64(len(list))
}
