package split

import (
	"math"
	"slices"
	"sort"
)

// Without sound the moment of contact is read from the ball, where it is seen
// to turn, and else from the batter's swing. The bat is fastest 0.02 s before
// it meets the ball (Stretch, Buys, Du Toit & Viljoen 1998, J Sports Sci
// 16:711-720), which is when the cells of the shot change most.
const (
	fastestBefore = 0.02 // s
	swingReach    = 0.25 // s around where contact is expected in which a swing is looked for,
	swingCore     = 3    // steps around contact in which the shot's cells are counted
	leftShare     = 0.4  // of the session's usual swing: less is no shot
	turnReach     = 0.3  // s around where the pattern puts the contact
	turnWait      = 0.3  // s for which the ball may be lost before the batter
	turnLeast     = 0.7  // cosine: what turns by less goes on
	turnApart     = 12.0 // pixels between where one flight leads and the other begins
	passLeast     = 0.08 // s: a ball still on its way so long after was not struck
)

// fate is what flights tell of a ball at a time.
type fate int

const (
	unseen fate = iota
	turned      // it came in and went off in another direction
	passed      // it went on as it came
)

// meets is what happened to the ball about time t, and when.
func (v *view) meets(t float64, warm bool) (fate, float64) {
	flown := v.air(warm).arcs
	var best float64
	what, at := unseen, t
	for _, in := range flown {
		if in.from.t < t-passLeast && in.to.t > t+passLeast && in.length() > best && math.Abs((in.from.t+in.to.t)/2-t) < turnReach {
			best, what, at = in.length(), passed, t
		}
		for _, out := range flown {
			wait := out.from.t - in.to.t
			if math.Abs(in.to.t-t) > turnReach || wait < -0.05 || wait > turnWait || in.along(out) > turnLeast {
				continue
			}
			// Both fly straight near contact: it is when they are closest.
			wx, wy := in.vx-out.vx, in.vy-out.vy
			cx := in.to.x - in.vx*in.to.t - out.from.x + out.vx*out.from.t
			cy := in.to.y - in.vy*in.to.t - out.from.y + out.vy*out.from.t
			when := -(cx*wx + cy*wy) / (wx*wx + wy*wy)
			apart := math.Hypot(cx+wx*when, cy+wy*when)
			if when < in.to.t-0.1 || when > out.from.t+0.1 || apart > turnApart || math.Abs(when-t) > turnReach {
				continue
			}
			if sum := in.length() + out.length(); sum > best {
				best, what, at = sum, turned, unseenBetween(in, out, when)
			}
		}
	}
	return what, at
}

// deaf says whether the sound tells nothing of the balls: there is none, or
// hardly anything is heard where balls were seen.
func (s *session) deaf() bool {
	balls, near := 0, 0
	for _, m := range s.moments {
		if !m.chosen {
			continue
		}
		balls++
		if m.struck || s.onsetNear(m.at-0.3, 0.4) >= 0 || s.onsetNear(m.at+0.3, 0.4) >= 0 {
			near++
		}
	}
	return 3*near < balls
}

// swings sets contact or none for the chosen moments of a session whose sound
// tells nothing.
func (s *session) swings() {
	if s.sight == nil || !s.sight.learnt() || !s.deaf() {
		return
	}
	var cells []float64
	size := make([]float64, len(s.moments))
	at := make([]float64, len(s.moments))
	var usual []float64
	for i, m := range s.moments {
		if v := s.viewOf(m.at); m.chosen && v != nil {
			if cells == nil {
				if cells = s.sight.shotCells(v.cells); s.way != nil && s.way.climbs {
					s.way.atBat(cells, v.width)
				}
			}
			at[i], size[i] = v.peak(cells, m.at, swingReach)
			usual = append(usual, size[i])
		}
	}
	if len(usual) == 0 {
		return
	}
	slices.Sort(usual)
	least := leftShare * usual[len(usual)*3/4]
	seen := make([]*pass, len(s.moments))
	if s.way != nil {
		for i, m := range s.moments {
			seen[i] = s.way.passAt(m.at)
		}
		switch {
		case s.way.climbs:
			s.way.fromGround()
		case s.way.nears():
			s.meetNear(s.way, cells)
		}
		s.way.fromHand()
	}
	for i := range s.moments {
		m := &s.moments[i]
		v := s.viewOf(m.at)
		if !m.chosen || v == nil {
			continue
		}
		if p := seen[i]; p != nil {
			m.struck = p.turned || !s.way.missed(p) && size[i] > least
			m.at = p.at
			continue
		}
		switch what, when := v.meets(m.at, s.way != nil && s.way.warm); {
		case what == turned:
			m.struck, m.at = true, when
		case what == unseen && size[i] > least:
			m.struck, m.at = true, at[i]+fastestBefore
		}
	}
	if s.way != nil {
		inOrder(s.way.passes)
	}
}

// line is how much something changed at each of some times, ascending.
type line struct{ times, values []float64 }

// changes is how much the weighted cells change within reach of t. A change seen
// between two pictures lies halfway between them.
func (v *view) changes(weight []float64, t, reach float64) line {
	var l line
	for i := 1; i < len(v.times); i++ {
		mid := (v.times[i] + v.times[i-1]) / 2
		if math.Abs(mid-t) > reach || v.times[i]-v.times[i-1] > 0.1 {
			continue
		}
		var sum float64
		for c, w := range weight {
			// Bytes are square roots: a cell that changes much must not count
			// less than many that change little.
			x := float64(v.rows[i*v.channels+c])
			sum += w * x * x
		}
		l.times, l.values = append(l.times, mid), append(l.values, sum)
	}
	return l
}

// even is a line smoothed, at most 1.
func (l line) even() line {
	out := line{times: l.times, values: make([]float64, len(l.values))}
	top := 1e-9
	for i := range l.values {
		out.values[i] = l.around(i)
		top = max(top, out.values[i])
	}
	for i := range out.values {
		out.values[i] /= top
	}
	return out
}

// around is a line's i-th value with those beside it.
func (l line) around(i int) float64 {
	return (l.values[max(i-1, 0)] + 2*l.values[i] + l.values[min(i+1, len(l.values)-1)]) / 4
}

// at is a line's value at t, straight between its times; 0 beyond them.
func (l line) at(t float64) float64 {
	i := sort.SearchFloat64s(l.times, t)
	if i == 0 || i == len(l.times) {
		return 0
	}
	part := (t - l.times[i-1]) / (l.times[i] - l.times[i-1])
	return l.values[i-1] + part*(l.values[i]-l.values[i-1])
}

// peak is when the weighted cells change most within reach of t, and how much.
func (v *view) peak(weight []float64, t, reach float64) (at, size float64) {
	l := v.changes(weight, t, reach)
	times, sums := l.times, l.values
	at = t
	if len(sums) < 3 {
		return at, 0
	}
	best := 0.0
	for i := 1; i < len(sums)-1; i++ {
		// Of two peaks the one nearer to t is believed.
		near := l.around(i) * (1 - math.Abs(times[i]-t))
		if near > best {
			best, size = near, near
			at = times[i]
			if d := sums[i-1] - 2*sums[i] + sums[i+1]; d < 0 {
				part := (sums[i-1] - sums[i+1]) / (2 * d)
				at += min(max(part, -0.5), 0.5) * (times[i+1] - times[i-1]) / 2
			}
		}
	}
	return at, size
}
