package split

import (
	"cmp"
	"math"
	"slices"
)

// meeting is where along a way the batter meets the ball: where balls were when
// a bat was heard, or where they turn, or from where most others go, or a little
// beyond where most are lost. Beyond deep a ball has passed.
func (s *session) meeting(w *way, group, all []arc, anchors []anchor) (meet, deep float64) {
	meet, turned := s.metAt(w, group, all, anchors)
	deep = meet
	if len(turned) >= meetLeast {
		deep = max(deep, shareBy(turned, meetDeep))
	}
	return meet, deep
}

// metAt is where along a way the batter meets the ball, and where balls turned.
func (s *session) metAt(w *way, group, all []arc, anchors []anchor) (at float64, turned []weighted) {
	var heard, ends, late []float64
	var followed []arc
	for _, first := range group {
		v := s.viewOf(first.to.t)
		if v == nil {
			continue
		}
		a := w.onwards(v, first)
		followed = append(followed, a)
		on, speed := w.on(a.to), w.pace(a)
		if !v.leaves(a) {
			ends = append(ends, on)
		}
		for _, k := range anchors {
			if d := k.at - a.to.t; k.heard && k.p > 0.5 && d > -0.15 && d < 0.5 {
				heard = append(heard, on+speed*d)
				break
			}
		}
		if at, wait, ok := w.turns(v, a); ok {
			turned = append(turned, weighted{ // by how little it may be mistaken
				on + speed*(at-a.to.t), 1 / max(speed*(turnOff*wait+turnPlace), 1)})
			late = append(late, speed*(at-a.to.t))
		} else {
			late = append(late, speed*meetLost)
		}
	}
	switch {
	case len(heard) >= meetLeast:
		return middle(heard), turned
	case len(turned) >= meetLeast:
		return shareBy(turned, 0.5), turned
	}
	if w.known {
		return s.knownMeeting(w), turned
	}
	if !w.climbs {
		if on, n := w.hitFrom(all, group); n > 0 && !w.through(followed, on) {
			return on, turned
		}
	}
	if n := len(turned); n > 0 && math.Abs(w.ux) > bounceAcross || n > 1 && grow(group) { // what turns beyond the batter has been to the net
		return slices.MinFunc(turned, byValue).value, turned
	}
	if len(ends) == 0 {
		return 0, turned
	}
	slices.Sort(ends)
	if w.climbs { // what is struck is lost there, what is not goes on
		return ends[int(climbMeet*float64(len(ends)-1))], turned
	}
	return ends[len(ends)*8/10] + middle(late), turned
}

// weighted is a value and how much it counts.
type weighted struct{ value, weight float64 }

func byValue(a, b weighted) int { return cmp.Compare(a.value, b.value) }

// shareBy is the value that such a share of the weights lies below; the zero value if
// there is none. It sorts the list.
func shareBy(list []weighted, share float64) float64 {
	slices.SortFunc(list, byValue)
	left := 0.0
	for _, v := range list {
		left += share * v.weight
	}
	for _, v := range list {
		if left -= v.weight; left <= 0 {
			return v.value
		}
	}
	return 0
}

// meets is when a flight meets the batter. However slow it was when it was last seen, it
// goes on half as fast as over all of it, but for what perspective makes of that where it is
// seen slantwise. One that climbs slows down in the picture: where it has gone beyond, its own
// curve tells.
func (w *way) meets(a arc) float64 {
	left, pace := w.meet-w.on(a.to), max(w.pace(a), w.level(a)/2)
	began, took := a.begX*w.ax+a.begY*w.ay, a.to.t-a.from.t
	switch {
	case w.climbs && left < 0 && began > pace:
		// Where it began + began t + bend t^2 is the meeting place.
		bend := (pace - began) / (2 * took)
		if root := began*began + 4*bend*(w.meet-w.on(a.from)); root > 0 {
			return a.from.t + (math.Sqrt(root)-began)/(2*bend)
		}
	case w.slantwise(a) && began > 0:
		// How far it is goes evenly with time, and its pace in the picture with the inverse
		// square of that: p/(1 + kt)^2, over which it goes pt/(1 + kt).
		k := (1 - math.Sqrt(pace/began)) / took
		pace = max(pace-left*k, pace/meetSlower)
	}
	return a.to.t + min(max(left/pace, -0.6), 0.6)
}
