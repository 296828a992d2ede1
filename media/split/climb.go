package split

import (
	"cmp"
	"math"
	"slices"
)

// From behind the arm balls come down the picture, and go up it once they have
// bounced: the way that leads to the batter is the second one. Where that is not
// seen, the batter meets the ball as long after the bounce as usual.
const (
	climbUsual  = 0.2  // s from bounce to bat, where nothing tells
	climbFalls  = 0.3  // s at most for which a ball may be lost before the bounce
	climbReach  = 0.2  // s by which a passing may be mistaken: how far a ball has come is hard to tell
	climbFar    = 0.5  // s from which it is another's
	climbShort  = 8.0  // pixels above where balls bounce: what ends higher has not
	climbFoot   = 4.0  // pixels above or below where balls bounce from which another may rise
	climbPiece  = 0.3  // s between two sightings of one ball's beginning
	climbLonger = 2.0  // times longer a ball is followed than what is no ball beside it
	climbPace   = 1.7  // times faster or slower
	dropLeast   = 5    // flights that come down without a bounce
	dropRough   = 0.35 // pixels by which half of them are off a curve: what is held is moved less smoothly
	dropTime    = 0.25 // s: a longer flight may be off by as many times more
	dropDown    = 0.6  // part of half of their directions that is down
	dropMore    = 2.0  // times as much they must say as what else may be the way in
	climbMeet   = 0.35 // of the places where flights up are lost, that is where the bat is
)

// climb sets a way's direction, place and passes by the flights that lead to a
// bounce and by the bounces that were seen.
func (s *session) climb(w *way, falls []arc, list []bounce, anchors []anchor) {
	climbs := make([]arc, len(list))
	for i, b := range list {
		climbs[i] = b.out
	}
	w.point(climbs)
	w.ax, w.ay, w.climbs = w.ux, w.uy, true
	w.meet, w.deep = s.meeting(w, climbs, nil, anchors)
	rises := s.rises(w, list)
	climbs = append(climbs, rises...)
	slices.SortFunc(climbs, func(a, b arc) int { return cmp.Compare(a.to.t, b.to.t) })
	passes := s.passes(w, climbs)
	var delays, took []float64
	for i := range passes {
		p := &passes[i]
		j := slices.IndexFunc(list, func(b bounce) bool { return p.at-b.in.to.t > -bounceEarly && p.at-b.in.to.t < bounceLong })
		if j >= 0 {
			in := list[j].in
			_, y := list[j].touch()
			p.ground = &ground{y, list[j].at()}
			p.saw(in.from)
			p.length += in.length()
			delays = append(delays, p.at-in.to.t)
			took = append(took, p.at-p.first.t)
		} else if k := slices.IndexFunc(rises, func(a arc) bool { return a.from.t == p.first.t }); k >= 0 {
			p.ground, p.first = &ground{rises[k].from.y, p.first.t}, unseenFirst
		}
	}
	delay := climbUsual
	if len(delays) > 0 {
		delay = middle(delays)
	}
	w.passes = fallen(passes, falls, insOf(list), delay)
	inTime(w.passes, took)
}

// drops says whether a group of flights are balls that come down from the camera and are
// lost as they bounce: most come down to the middle of the picture, as smoothly as only
// what nobody holds.
func (s *session) drops(group []arc) bool {
	if len(group) < dropLeast || grow(group) {
		return false
	}
	down := middleBy(group, func(a arc) float64 {
		if a.endY <= bounceFalls {
			return 0
		}
		_, dy := a.direction()
		return dy
	})
	wide, _ := eyeSize(s.probe.Width, s.probe.Height)
	rough := middleBy(group, func(a arc) float64 { return a.rough / max((a.to.t-a.from.t)/dropTime, 1) })
	return rough < dropRough && down > dropDown && math.Abs(middleBy(group, lostX)-float64(wide)/2) < bounceAside
}

// drop sets a way's place and passes by flights that lead to a bounce that is not seen.
func (w *way) drop(falls []arc) {
	w.x, w.y = middleBy(w.group, lostX), middleBy(w.group, func(a arc) float64 { return a.to.y }) // the bat is near there
	w.ux, w.uy, w.climbs = 0, -1, true
	w.ax, w.ay = w.ux, w.uy
	w.passes = fallen(nil, falls, w.group, climbUsual)
}

// inTime sets when balls that were only seen to fall meet the batter by how long the
// others took from their release: that differs less than the way from the bounce to
// the bat, which is as long as the ball is short.
func inTime(passes []pass, took []float64) {
	if len(took) == 0 {
		return
	}
	usual := middle(took)
	for i := range passes {
		if p := &passes[i]; p.fell {
			p.at = min(max(p.first.t+usual, p.came.to.t), p.came.to.t+climbFalls+bounceLong)
		}
	}
	inOrder(passes)
}

// fallen adds to passes the balls that were only seen to fall, the longest flight
// of each, as those do that are known to.
func fallen(passes []pass, falls, known []arc, delay float64) []pass {
	mass, pace, low := make([]float64, len(known)), make([]float64, len(known)), make([]float64, len(known))
	for i, a := range known {
		mass[i], pace[i], low[i] = a.mass, math.Hypot(a.vx, a.vy), a.to.y
	}
	usualMass, usualPace, usualGround := middle(mass), middle(pace), middle(low)
	seen := len(passes)
	for _, a := range falls {
		if a.endY < bounceFalls || !nearly(wayMass, a.mass, usualMass) || !nearly(climbPace, math.Hypot(a.vx, a.vy), usualPace) {
			continue
		}
		left := min(max((usualGround-a.to.y)/max(a.endY, bounceFalls), 0), climbFalls)
		p := pass{came: a, at: a.to.t + left + delay, first: a.from, length: a.length(), fell: true, ground: &ground{a.to.y, a.to.t}}
		if len(low) >= bounceTells && a.to.y < slices.Min(low)-climbShort { // it was lost in the air
			p.ground = &ground{usualGround, a.to.t + left}
		}
		same := slices.IndexFunc(passes, func(o pass) bool { return math.Abs(o.at-p.at) < wayApart })
		switch {
		case same < 0:
			passes = append(passes, p)
		case same < seen && !passes[same].bowled():
			passes[same].first = p.first
		case same >= seen && p.outlasts(passes[same]):
			passes[same] = p
		}
	}
	inOrder(passes)
	return passes
}

// outlasts says whether a ball that fell is believed rather than what fell shortly before or
// after it: if that is a shorter piece of its own flight, or much shorter than it.
func (p *pass) outlasts(o pass) bool {
	return p.length > climbLonger*o.length || p.length > o.length && math.Abs(o.first.t-p.first.t) < climbPiece
}

// rises lists the flights that go up from the ground as balls do after a bounce, one a
// ball, where it was not seen to come down: one that is bowled along the camera's line
// hardly moves in the picture until then.
func (s *session) rises(w *way, list []bounce) []arc {
	if len(list) < bounceTells {
		return nil
	}
	top, low := math.Inf(1), math.Inf(-1)
	for _, b := range list {
		_, y := b.touch()
		top, low = min(top, y), max(low, y)
	}
	var out []arc
	for _, warm := range [...]bool{w.warm, !w.warm} {
		for _, a := range s.comparable(warm).arcs {
			if a.begY > -bounceRises || a.from.y < top-climbFoot || a.from.y > low+climbFoot {
				continue
			}
			alike := 0
			for _, b := range list {
				if warm != w.warm { // how large it is can't be compared
					b.out.mass = a.mass
				}
				if b.out.like(a) {
					alike++
				}
			}
			near := func(t float64) bool { return math.Abs(t-a.from.t) < wayApart }
			if 2*alike > len(list) && !slices.ContainsFunc(list, func(b bounce) bool { return near(b.at()) }) &&
				!slices.ContainsFunc(out, func(o arc) bool { return near(o.from.t) }) {
				out = append(out, a)
			}
		}
	}
	return out
}
