package split

import (
	"math"
	"slices"
	"sort"
)

// On their way in balls pass the place where the bat meets them, and it is from
// there that those that are struck go. So the way and what goes from it tell the
// place together, and a ball that is only seen to go is one as well.
const (
	hitStep    = 4.0  // pixels between two places on the way that are tried
	hitOff     = 12.0 // pixels by which a flight may miss the place
	hitLeast   = 3    // balls that must go from it
	hitOn      = 0.7  // cosine of the angle to the way: what turns by less goes on, and tells no place
	hitShare   = 0.4  // of a group's flights: so many balls must go from a place on its way
	liftLong   = 1.0  // s before a ball is met in which the bat is lifted
	passedMost = 0.75 // share of balls that may pass the batter
	hitFew     = 0.4  // share of balls that are only seen to go: where it is less, they are the batter's throws back
)

// hits lists what goes from the way at a place along it, one flight a ball.
func (w *way) hits(all []arc, mass, on, most float64) []leaving {
	return soonest(w.leaves(all, mass, on, most))
}

// soonest keeps of each ball the flight that was seen soonest.
func soonest(list []leaving) []leaving {
	return oneOfEach(list, func(a, b leaving) bool { return a.late() < b.late() })
}

// leaves lists what goes from the way at a place along it, as large as mass or nearly: most
// is the cosine of the least angle by which it turns there.
func (w *way) leaves(all []arc, mass, on, most float64) []leaving {
	x, y := w.spot(on)
	var out []leaving
	for i := range all {
		a := &all[i]
		if a.length() < goneLength || !nearly(wayMass, a.mass, mass) || w.toward(*a) > most {
			continue
		}
		if at, ok := a.leftFrom(x, y, hitOff); ok {
			out = append(out, leaving{at, *a})
		}
	}
	return out
}

// late is how long after it left a ball was seen, s.
func (l leaving) late() float64 { return math.Abs(l.by.from.t - l.at) }

// spot is the point of the way at a place along it.
func (w *way) spot(on float64) (x, y float64) {
	k := on / max(w.ux*w.ax+w.uy*w.ay, 1e-9)
	return w.x + k*w.ux, w.y + k*w.uy
}

// hitFrom finds the place along the way from which most balls go, and soonest, and
// how many; none if they are too few.
func (w *way) hitFrom(all, group []arc) (on float64, balls int) {
	from, to := math.Inf(1), math.Inf(-1)
	for _, a := range group {
		from, to = min(from, w.on(a.from)), max(to, w.on(a.to))
	}
	usual, top := usualMass(group), 0.0
	for at := from; at <= to; at += hitStep {
		list := w.hits(all, usual, at, hitOn)
		if len(list) < hitLeast {
			continue
		}
		sum := 0.0
		for _, l := range list {
			sum += 1 - l.late()/sourceBack
		}
		if sum > top {
			top, on, balls = sum, at, len(list)
		}
	}
	return on, balls
}

// through says whether most flights, followed as far as they are seen, go on beyond a place
// on the way: balls are not met there.
func (w *way) through(flights []arc, on float64) bool {
	n := 0
	for _, a := range flights {
		if w.on(a.to) > on+w.pace(a)*passLeast {
			n++
		}
	}
	return 2*n > len(flights)
}

// passedAll is where half of the balls are lost; ok if nearly all of them went on past where
// they are said to be met: then it is there rather.
func (w *way) passedAll() (lost float64, ok bool) {
	var ends []float64
	for _, p := range w.passes {
		if p.onward {
			ends = append(ends, w.on(p.came.to))
		}
	}
	return middle(ends), len(ends) >= meetLeast && float64(len(ends)) > passedMost*float64(len(w.passes))
}

// struckOn says whether enough balls go from a place on the way of a group.
func struckOn(all, group []arc) bool {
	w := &way{}
	w.point(group)
	w.aim(w.ux, w.uy)
	_, n := w.hitFrom(all, group)
	return float64(n) >= hitShare*float64(len(group))
}

// backlift says whether a flight is how the bat is lifted: at most balls that were seen to
// come the like is seen while they are still on their way. All flights ascend by their ends.
func (w *way) backlift(all []arc, a arc) bool {
	endedBy := func(t float64) int { return sort.Search(len(all), func(i int) bool { return all[i].to.t >= t }) }
	n := 0
	for _, p := range w.passes {
		if slices.ContainsFunc(all[endedBy(p.at-liftLong):endedBy(p.at-passReach)], a.like) {
			n++
		}
	}
	return n > 0 && 2*n > len(w.passes)
}

// addHits adds to the passes the balls that were only seen to go from where the
// bat meets them.
func (w *way) addHits(all []arc) {
	goes := w.leaves(all, usualMass(w.group), w.meet, math.Inf(1))
	list := soonest(slices.DeleteFunc(goes, func(l leaving) bool { return w.toward(l.by) <= hitOn && w.backlift(all, l.by) }))
	var out []pass
	for i := range list {
		l := &list[i]
		if p := w.near(l.at); p == nil || math.Abs(p.at-l.at) >= wayApart {
			p := pass{at: l.at, first: unseenFirst, length: l.by.length(), onward: w.toward(l.by) > hitOn}
			if !p.onward {
				p.turn, p.turned, p.gone = l.at, true, &l.by
			}
			out = append(out, p)
		}
	}
	if len(out) < hitLeast || float64(len(out)) < hitFew*float64(len(out)+len(w.passes)) {
		return
	}
	w.passes = append(w.passes, out...)
	inOrder(w.passes)
}
