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
	swingNear     = 0.12 // and around where the session's swings have told how far off that is
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
				best, what, at = sum, turned, when
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

// strike turns a ball that was taken for unstruck into a struck one where a
// clear bat sound lies beside its passing.
func (s *session) strike() {
	const (
		reach  = 0.3 // s
		clear  = 0.0 // log odds of the sound by itself
		likely = -2.0
		alike  = 1.0 // log odds of its colour
	)
	for i := range s.moments {
		m := &s.moments[i]
		if !m.chosen || m.struck || m.said || s.silent() {
			continue
		}
		best, top := -1, math.Inf(-1)
		k := sort.Search(len(s.onsets), func(k int) bool { return s.onsets[k].at >= m.at-reach })
		for ; k < len(s.onsets) && s.onsets[k].at <= m.at+reach; k++ {
			colour := s.colour.evidence(s.onsets[k], 0)
			if (s.first[k] > clear || s.first[k] > likely && colour > alike) && s.first[k]+colour > top {
				best, top = k, s.first[k]+colour
			}
		}
		if best >= 0 {
			m.struck, m.onset, m.at = true, best, s.onsets[best].at
		}
	}
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
				cells = s.sight.shotCells(v.cells)
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
	lag := 0.0
	if s.way != nil && s.way.climbs {
		lag = s.swingLag(cells)
	}
	for i := range s.moments {
		m := &s.moments[i]
		v := s.viewOf(m.at)
		if !m.chosen || v == nil {
			continue
		}
		if s.way != nil {
			if p := s.way.passAt(m.at); p != nil {
				m.struck = p.turned || !p.onward && size[i] > least
				if m.at = p.at; m.struck && s.way.climbs && !p.turned {
					// Where balls fly away from the camera the swing tells better.
					m.at, _ = v.peak(cells, p.at+lag, swingNear)
					m.at += fastestBefore
				}
				continue
			}
		}
		switch what, when := v.meets(m.at, s.way != nil && s.way.warm); {
		case what == turned:
			m.struck, m.at = true, when
		case what == unseen && size[i] > least:
			m.struck, m.at = true, at[i]+fastestBefore
		}
	}
}

// swingLag is by how much the session's swings come later than where its balls'
// way puts the contact.
func (s *session) swingLag(cells []float64) float64 {
	var late []float64
	for i := range s.moments {
		m := &s.moments[i]
		v := s.viewOf(m.at)
		if !m.chosen || v == nil {
			continue
		}
		if p := s.way.passAt(m.at); p != nil && !p.turned && !p.onward {
			if at, size := v.peak(cells, p.at, swingReach); size > 0 {
				late = append(late, at-p.at)
			}
		}
	}
	return middle(late)
}

// peak is when the weighted cells change most within reach of t, and how much. A change
// seen between two pictures lies halfway between them.
func (v *view) peak(weight []float64, t, reach float64) (at, size float64) {
	var times, sums []float64
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
		times, sums = append(times, mid), append(sums, sum)
	}
	at = t
	if len(sums) < 3 {
		return at, 0
	}
	best := 0.0
	for i := 1; i < len(sums)-1; i++ {
		near := (sums[i-1] + 2*sums[i] + sums[i+1]) / 4
		// Of two peaks the one nearer to t is believed.
		near *= 1 - math.Abs(times[i]-t)
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
