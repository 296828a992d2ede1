package split

import (
	"math"
	"slices"
)

// Struck balls leave the batter in many directions, and what all of them come
// from is where the bat met the ball. It tells the moment of contact even where
// the ball itself is lost before the batter's body, and from behind the arm.
const (
	goneWait    = 0.6  // s after the ball was lost in which it must be seen to go
	goneLength  = 18.0 // pixels
	gonePoints  = 5
	curvePoints = 8    // of a flight, from which its curve is believed
	goneSoon    = 0.03 // s before it is last seen to come that a ball may go
	goneEarly   = 0.1  // s: what takes longer to get where the bat met the ball does not come from it
	meetsFrom   = 4    // flights that tell where they come from
	meetsSpread = 0.02 // how much their directions must differ: 0 to 0.25
	meetsOff    = 12.0 // pixels by which they may miss the place
	leaveMost   = 0.6  // where more balls are seen to go than this, one that is not is doubtful
	leaveNone   = 3.5  // by so much, log odds
)

// goes is the flight in which a ball that came in goes another way, nil if none
// is seen.
func (w *way) goes(v *view, in arc) *arc {
	var best *arc
	flown := v.air(w.warm).arcs
	for i := range flown {
		out := &flown[i]
		gap := out.from.t - in.to.t
		if gap < -0.05 || gap > goneWait || out.rough > wayRough || out.points < gonePoints || out.length() < goneLength ||
			in.along(*out) > wayTurn || w.bounces(in, *out) || out.mass < in.mass/8 {
			continue
		}
		if best == nil || out.from.t < best.from.t {
			best = out
		}
	}
	return best
}

// converge finds where flights that go come from, by least squares, and from
// that the moment of contact of each pass that is seen to go; the others are
// late or early by as much as those. Balls meet the batter at much the same
// place on their way in: where they are seen to turn, and the places of the
// turns lie closer together, the turns are believed.
func (w *way) converge(passes []pass) {
	var gone []*arc
	for _, p := range passes {
		if p.gone != nil {
			gone = append(gone, p.gone)
		}
	}
	if len(gone) < meetsFrom {
		return
	}
	cx, cy, spread := comeFrom(gone)
	if spread < meetsSpread {
		return
	}
	off := make([]float64, len(gone))
	for i, g := range gone {
		off[i] = g.misses(cx, cy)
	}
	if middle(off) > meetsOff {
		return
	}
	left := make([]float64, len(passes)) // s, 0 where it isn't seen
	var turns, leaves []float64          // pixels along the way, by either
	early := 0                           // balls that were still seen to come
	for i := range passes {
		p := &passes[i]
		g := p.gone
		if g == nil {
			continue
		}
		back := g.back(cx, cy)
		if back > goneEarly {
			p.gone = nil
			continue
		}
		left[i] = g.from.t + min(max(back, -goneWait), 0.02)
		leaves = append(leaves, w.place(p.came, left[i]))
		if left[i] < p.came.to.t-goneSoon {
			early++
		}
		if p.turned {
			turns = append(turns, w.place(p.came, p.turn))
		}
	}
	if len(leaves) < meetLeast || 2*early > len(leaves) || 2*len(turns) > len(leaves) && scatter(turns) < scatter(leaves) {
		return
	}
	var late []float64
	for i, at := range left {
		if p := &passes[i]; at > 0 {
			late = append(late, at-p.at)
			p.at, p.turn, p.turned = at, at, true
		}
	}
	usual := middle(late)
	for i := range passes {
		if p := &passes[i]; !p.turned {
			p.at = w.noSooner(p.at+usual, p.came)
		}
	}
}

// leaveShare is the share of balls that are seen to go, had there been one more that
// was not: a few balls of which most are seen to go say little of the others.
func leaveShare(passes []pass) float64 {
	n := 0
	for _, p := range passes {
		if p.gone != nil {
			n++
		}
	}
	return float64(n) / float64(len(passes)+1)
}

// comeFrom is the place that flights, drawn back, miss least, by least squares,
// and how much their directions differ, 0 to 0.25; it is no place if they
// hardly do.
func comeFrom(flights []*arc) (x, y, spread float64) {
	var xx, xy, yy, bx, by float64
	for _, a := range flights {
		dx, dy := a.direction()
		// What is across the direction: I - d d'.
		axx, axy, ayy := 1-dx*dx, -dx*dy, 1-dy*dy
		xx, xy, yy = xx+axx, xy+axy, yy+ayy
		bx, by = bx+axx*a.from.x+axy*a.from.y, by+axy*a.from.x+ayy*a.from.y
	}
	det := xx*yy - xy*xy
	if det < 1e-6 {
		return 0, 0, 0
	}
	n := float64(len(flights))
	return (yy*bx - xy*by) / det, (xx*by - xy*bx) / det, det / (n * n)
}

// place is how far along the way a ball would be at t, had it flown on.
func (w *way) place(came arc, t float64) float64 {
	return w.on(came.to) + w.pace(came)*(t-came.to.t)
}

// scatter is how far values lie from their median, in the median.
func scatter(values []float64) float64 {
	list := slices.Clone(values)
	m := middle(list)
	for i, v := range list {
		list[i] = math.Abs(v - m)
	}
	return middle(list)
}

// direction is the unit vector along a flight.
func (a *arc) direction() (x, y float64) {
	n := max(math.Hypot(a.vx, a.vy), 1e-9)
	return a.vx / n, a.vy / n
}

// misses is by how many pixels a flight drawn back straight misses a place.
func (a *arc) misses(x, y float64) float64 {
	dx, dy := a.direction()
	return math.Abs((x-a.from.x)*dy - (y-a.from.y)*dx)
}

// back is how long after it was first seen a flight is nearest to a place, s:
// negative where it has already flown by.
func (a *arc) back(x, y float64) float64 {
	return ((x-a.from.x)*a.vx + (y-a.from.y)*a.vy) / max(a.vx*a.vx+a.vy*a.vy, 1e-9)
}

// setOut is the flight as fast and in the direction that it began, where it has
// points enough to tell its curve.
func (a arc) setOut() arc {
	if a.points >= curvePoints {
		a.vx, a.vy = a.begX, a.begY
	}
	return a
}
