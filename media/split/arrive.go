package split

import (
	"math"
	"slices"
)

// Where balls can be seen in flight, they say themselves what a ball is: they
// come in at one place, again and again, and there somebody moves.
const (
	arriveTime   = 0.08 // s: a shorter flight says nothing
	arriveWithin = 0.3  // of a flight's length: how far apart those end that arrive at one place
	arriveLeast  = 16.0 // pixels: not less than this
	arriveMost   = 45.0 // nor more
	arriveEdge   = 10.0 // pixels from the picture's edge: it did not arrive but leave
	arriveTurn   = 0.8  // cosine of the greatest angle between them
	arriveBefore = 0.03 // s: the ball is lost before the batter, not at contact
	otherWithin  = 45.0 // pixels from there for balls that come from elsewhere
)

// arrival is a flight that ends, in its view.
type arrival struct {
	view *view
	arc  arc
	near float64 // how much more moves about its end then than before
}

// arrivals lists the ends of flights in all views.
func (s *session) arrivals(e *eye) []arrival {
	var out []arrival
	for _, v := range s.views {
		for _, a := range v.arcs {
			inside := min(a.to.x, a.to.y, float64(e.width)-a.to.x, float64(e.height)-a.to.y) > arriveEdge
			if a.continued || !inside || a.to.t-a.from.t < arriveTime || a.to.t > v.to-0.1 {
				continue
			}
			out = append(out, arrival{v, a, v.movesNear(e, a.to)})
		}
	}
	slices.SortFunc(out, func(a, b arrival) int {
		switch {
		case a.arc.to.t < b.arc.to.t:
			return -1
		case a.arc.to.t > b.arc.to.t:
			return 1
		}
		return 0
	})
	return out
}

// movesNear is how much more changes about a point at its time than half a
// second before.
func (v *view) movesNear(e *eye, p flightPoint) float64 {
	const reach = 2 // cells
	cx, cy := int(p.x)/cellSide, int(p.y)/cellSide
	sum := func(from, to float64) float64 {
		var sum, n float64
		for i, t := range v.times {
			if t < from || t > to {
				continue
			}
			n++
			for y := max(cy-reach, 0); y <= min(cy+reach, e.down-1); y++ {
				for x := max(cx-reach, 0); x <= min(cx+reach, e.across-1); x++ {
					sum += float64(v.rows[i*v.channels+y*e.across+x])
				}
			}
		}
		return sum / max(n, 1)
	}
	return sum(p.t-0.05, p.t+0.2) - sum(p.t-0.8, p.t-0.3)
}

// place finds where balls arrive: the place and direction shared by flights at
// most different times, weighed by their length, since the next net's balls
// cross less of the picture, and by whether something moves there then. It
// gives the arrivals that belong to it and those that come to the same place
// from elsewhere; nil if there are too few.
func place(all []arrival) []arrival {
	var best []arrival
	var top float64
	for _, seed := range all {
		group := together(all, seed, nil)
		var score float64
		for _, a := range group {
			if a.near > 0 {
				score += a.arc.length()
			} else {
				score += a.arc.length() / 2
			}
		}
		if len(group) >= discoverLeast && score > top {
			best, top = group, score
		}
	}
	if best == nil {
		return nil
	}
	// Another feeder or another end of the same net sends its balls to the
	// same batter.
	var usual float64
	for _, a := range best {
		usual += a.near / float64(len(best))
	}
	out := slices.Clone(best)
	for _, seed := range all {
		if seed.near < usual/2 || seed.arc.distance(best[0].arc) > otherWithin {
			continue
		}
		if group := together(all, seed, out); len(group) >= discoverLeast {
			out = append(out, group...)
		}
	}
	slices.SortFunc(out, func(a, b arrival) int { return int(math.Copysign(1, a.arc.to.t-b.arc.to.t)) })
	return out
}

// together lists the arrivals like seed, each at its own time and apart from
// those already known.
func together(all []arrival, seed arrival, known []arrival) []arrival {
	var group []arrival
	within := min(max(arriveWithin*seed.arc.length(), arriveLeast), arriveMost)
	for _, a := range all {
		apart := a.arc.distance(seed.arc) < within && a.arc.along(seed.arc) > arriveTurn
		for _, list := range [][]arrival{known, group} {
			for _, o := range list {
				apart = apart && math.Abs(o.arc.to.t-a.arc.to.t) >= discoverApart
			}
		}
		if apart {
			group = append(group, a)
		}
	}
	return group
}

// distance is that between the ends of two flights.
func (a arc) distance(b arc) float64 { return math.Hypot(a.to.x-b.to.x, a.to.y-b.to.y) }

// length is how far a flight goes, in pixels.
func (a arc) length() float64 { return math.Hypot(a.to.x-a.from.x, a.to.y-a.from.y) }

// along is the cosine of the angle between two flights.
func (a arc) along(b arc) float64 {
	n := math.Hypot(a.vx, a.vy) * math.Hypot(b.vx, b.vy)
	if n == 0 {
		return 0
	}
	return (a.vx*b.vx + a.vy*b.vy) / n
}
