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
	bounceLong   = 0.55 // s from the bounce to the bat, at most
	bounceEdge   = 0.1  // what a group counts at the picture's sides
	bounceAside  = 38.0 // pixels beside the picture's middle: farther out there is no batter filmed from behind the arm
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
		if in.endY < bounceFalls || !in.smooth() || in.length() < bounceLength {
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

// unbounced are the flights that did not come from a bounce, nor go as the way's own
// balls do from theirs.
func (a air) unbounced(own []bounce) []arc {
	return slices.DeleteFunc(slices.Clone(a.arcs), func(f arc) bool {
		return slices.ContainsFunc(a.bounces, func(b bounce) bool { return b.out == f }) ||
			slices.ContainsFunc(own, func(b bounce) bool { return b.out.like(f) })
	})
}

// bouncesOf lists those bounces of which a group has a flight, the
// clearest of each ball, ascending.
func bouncesOf(group []arc, all []bounce) []bounce {
	var out []bounce
	for i := range all {
		b := all[i]
		if !b.of(group) {
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

// of says whether one of a bounce's two flights, or one of the same ball beside
// it, is in a group, which ascends by its ends.
func (b *bounce) of(group []arc) bool {
	i := sort.Search(len(group), func(i int) bool { return group[i].to.t > b.in.to.t-bounceEarly })
	for ; i < len(group) && group[i].to.t < b.out.to.t+wayApart; i++ {
		if b.has(group[i]) {
			return true
		}
	}
	return false
}

// has says whether one of a bounce's two flights is the given one, or one of the same
// ball beside it.
func (b *bounce) has(a arc) bool {
	return math.Abs(b.in.to.t-a.to.t) < bounceEarly && b.in.along(a) > wayTurn ||
		math.Abs(b.out.from.t-a.from.t) < bounceEarly && b.out.along(a) > wayTurn
}

// at is when the ball touched the ground, s: halfway between both flights.
func (b bounce) at() float64 { return (b.in.to.t + b.out.from.t) / 2 }

// clear is how often a bounce's ball was seen.
func (b bounce) clear() int { return b.in.points + b.out.points }

// bouncesInto says whether flight a, which falls, goes on as b after a bounce.
func (a arc) bouncesInto(b arc) bool {
	gap := b.from.t - a.to.t
	if gap < -bounceEarly || gap > bounceLate || b.begY > -bounceRises || b.to.t < a.to.t+bounceEarly/2 ||
		!nearly(bounceMass, a.to.mass, b.from.mass) {
		return false
	}
	off := math.Hypot(b.from.x-a.to.x-a.endX*gap, b.from.y-a.to.y)
	return off <= bounceOff+math.Abs(a.endY*gap) && math.Abs(b.begX-a.endX) <= bounceTurn*math.Abs(a.endX)+bounceDrift
}

// bounceWorth is by how much likelier its bounces make a group. Who bats half out
// of the picture is not who is filmed: where several bounce there, the less likely.
func (s *session) bounceWorth(list []bounce) float64 {
	wide, _ := eyeSize(s.probe.Width, s.probe.Height)
	inside := func(p flightPoint) float64 {
		return min(max(min(p.x, float64(wide)-p.x)/(bounceInside*float64(wide)), 0), 1)
	}
	up, sum := steep(list), 0.0
	for i := range list {
		near := inside(list[i].out.to)
		if up {
			near *= inside(list[i].in.from)
		}
		sum += near / float64(len(list))
	}
	if len(list) < bounceTells {
		return 1 + sum
	}
	return (1 + float64(min(len(list), bounceSays))) * max(sum, bounceEdge)
}

// nextNets says whether balls that bounce are the next net's: who films from behind an
// arm points the camera at the batter. Nobody's word is outdone by it.
func (s *session) nextNets(list []bounce) bool {
	if !ascends(list) || len(s.saidAnchors()) > 0 {
		return false
	}
	ends := make([]float64, len(list))
	for i, b := range list {
		ends[i] = b.out.to.x
	}
	wide, _ := eyeSize(s.probe.Width, s.probe.Height)
	return math.Abs(middle(ends)-float64(wide)/2) > bounceAside
}

// after says whether most of a way's balls come just after these bounces: they are the
// same balls, later on.
func (w *way) after(bounces map[bounce]bool) bool {
	n := 0
	for _, p := range w.passes {
		for b := range bounces {
			if p.at > b.at()-bounceEarly && p.at < b.at()+wayApart {
				n++
				break
			}
		}
	}
	return 2*n > len(w.passes)
}

// insOf are the flights in which the balls of bounces come down.
func insOf(list []bounce) []arc {
	out := make([]arc, len(list))
	for i := range list {
		out[i] = list[i].in
	}
	return out
}

// ascends says whether bounces enough to tell are steep.
func ascends(list []bounce) bool { return len(list) >= bounceTells && steep(list) }

// steep says whether balls go up the picture rather than across it once they
// have bounced, as they do from behind the arm.
func steep(list []bounce) bool {
	sum := 0.0
	for i := range list {
		dx, _ := list[i].out.direction()
		sum += math.Abs(dx)
	}
	return sum < bounceAcross*float64(len(list))
}
