package split

import (
	"math"
	"slices"
	"sort"
)

// From behind the arm balls come down the picture, and go up it once they have
// bounced: the way that leads to the batter is the second one. Where that is not
// seen, the batter meets the ball as long after the bounce as usual.
const (
	climbUsual = 0.2 // s from bounce to bat, where nothing tells
	climbFalls = 0.3
	climbReach = 0.2
	climbFar   = 0.5
	climbPiece = 0.3
	climbMass  = 3
	climbPace  = 1.7
)

// climb sets a way's direction, place and passes by the flights that lead to a
// bounce and by the bounces that were seen.
func (s *session) climb(w *way, falls []arc, list []bounce, anchors []anchor) {
	climbs := make([]arc, len(list))
	for i, b := range list {
		n := math.Hypot(b.out.vx, b.out.vy)
		w.ux, w.uy = w.ux+b.out.vx/n, w.uy+b.out.vy/n
		w.x, w.y = w.x+b.out.from.x/float64(len(list)), w.y+b.out.from.y/float64(len(list))
		climbs[i] = b.out
	}
	n := math.Hypot(w.ux, w.uy)
	w.ux, w.uy = w.ux/n, w.uy/n
	w.ax, w.ay, w.climbs = w.ux, w.uy, true
	w.meet = s.meeting(w, climbs, anchors)
	passes := s.passes(w, climbs)
	var delays []float64
	for i := range passes {
		p := &passes[i]
		for _, b := range list {
			if d := p.at - b.in.to.t; d > -bounceEarly && d < 2*climbUsual+bounceLate {
				p.release = min(p.release, b.in.from.t)
				p.length += b.in.length()
				delays = append(delays, d)
				break
			}
		}
	}
	delay := climbUsual
	if len(delays) > 0 {
		slices.Sort(delays)
		delay = delays[len(delays)/2]
	}
	seen := len(passes)
	mass, pace, ground := make([]float64, len(list)), make([]float64, len(list)), make([]float64, len(list))
	for i, b := range list {
		mass[i], pace[i], ground[i] = b.in.mass, math.Hypot(b.in.vx, b.in.vy), b.in.to.y
	}
	slices.Sort(mass)
	slices.Sort(pace)
	slices.Sort(ground)
	for _, a := range falls {
		if !within(climbMass, a.mass, mass) || !within(climbPace, math.Hypot(a.vx, a.vy), pace) {
			continue
		}
		falls := min(max((ground[len(ground)/2]-a.to.y)/max(a.endY, bounceFalls), 0), climbFalls)
		p := pass{came: a, at: a.to.t + falls + delay, release: a.from.t, length: a.length()}
		same := slices.IndexFunc(passes, func(o pass) bool { return math.Abs(o.at-p.at) < wayApart })
		switch {
		case same < 0:
			passes = append(passes, p)
		case same >= seen && math.Abs(passes[same].release-p.release) < climbPiece && p.length > passes[same].length:
			passes[same] = p
		}
	}
	sort.SliceStable(passes, func(i, j int) bool { return passes[i].at < passes[j].at })
	w.passes = passes
	for _, p := range w.passes {
		if p.gone != nil {
			w.leave += 1 / float64(len(w.passes))
		}
	}
}

// within says whether a value is at most so many times greater or less than the
// median of an ascending list.
func within(times, v float64, list []float64) bool {
	mid := list[len(list)/2]
	return v <= mid*times && mid <= v*times
}

// meets is when a flight meets the batter, as far as its own curve tells.
func (w *way) meets(a arc) float64 {
	left, pace := w.meet-w.on(a.to), w.pace(a)
	if w.climbs {
		began, took := a.begX*w.ax+a.begY*w.ay, a.to.t-a.from.t
		pace = max(pace, w.level(a)/2)
		if left < 0 && began > pace {
			// from + began t + bend t^2 = meet
			bend := (pace - began) / (2 * took)
			if root := began*began + 4*bend*(w.meet-w.on(a.from)); root > 0 {
				return a.from.t + (math.Sqrt(root)-began)/(2*bend)
			}
		}
	}
	return a.to.t + min(max(left/pace, -0.6), 0.6)
}
