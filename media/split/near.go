package split

import "math"

// From behind the batter a ball is seen to come until it bounces, and is lost then
// before the batter or his bat, who are much nearer. Where on its way it is met is
// told by all balls together: by their batter's swings, laid over each other, and by
// those that are seen to go. Where some are seen to turn it is known already.
const (
	nearStep = 2.0  // pixels between two places that are tried
	nearOff  = 0.05 // s by which what is usual from the bounce to the bat differs: a near batter's swings tell less
	nearLost = 0.03 // s after contact for which a ball that goes is not seen yet
	nearDown = 0.6  // part of the way's direction that is down the picture, at least

	swingBegins = 0.04 // s before contact when most of the swing begins that is seen from near: how it goes on differs (invented scenes)
	swingEdge   = 0.1  // s
	swingStep   = 0.02
)

// nears says whether a way leads to the camera, past the batter.
func (w *way) nears() bool { return !w.climbs && w.uy > nearDown && looms(w.group) }

// meetNear sets where the balls of a way that nears meet the bat, and when.
func (s *session) meetNear(w *way, cells []float64) {
	var balls []*pass
	var swings []line
	from, to, left := math.Inf(1), math.Inf(-1), 0
	for i := range w.passes {
		p := &w.passes[i]
		if p.turned {
			return
		}
		if v := s.viewOf(p.at); v != nil && p.first.t >= 0 {
			balls = append(balls, p)
			swings = append(swings, v.changes(cells, p.came.to.t+restLong/2, restLong).even())
			on := w.on(p.came.to)
			from, to = min(from, on), max(to, on+w.nearing(p.came)*restLong)
			if _, ok := p.left(); ok {
				left++
			}
		}
	}
	if len(balls) < restLeast {
		return
	}
	best, top := w.meet, math.Inf(-1)
	for meet := from; meet <= to; meet += nearStep {
		sum, took := 0.0, make([]float64, len(balls))
		for i, p := range balls {
			at := w.reaches(p.came, meet)
			took[i] = at - p.came.to.t
			sum += swings[i].rise(at - swingBegins)
			if t, ok := p.left(); ok && left >= meetsFrom {
				off := (at - t) / restRise
				sum += restRose * math.Exp(-off*off/2)
			}
		}
		off := (middle(took) - restUsual) / nearOff
		if sum -= off * off / 2; sum > top {
			best, top = meet, sum
		}
	}
	w.meet = best
	for _, p := range balls {
		p.at = w.reaches(p.came, best)
		p.onward = w.on(p.came.to) > best+w.nearing(p.came)*passLeast
	}
}

// left is when a ball was seen to go, after it bounced: what is seen at once is how it
// goes on from there.
func (p *pass) left() (at float64, ok bool) {
	if p.gone == nil {
		return 0, false
	}
	at = p.gone.from.t - nearLost
	return at, at > p.came.to.t+nearLost
}

// nearing is how fast a flight goes along the way at its end: what nears the camera
// gets faster in the picture.
func (w *way) nearing(a arc) float64 { return max(w.pace(a), w.level(a), 1) }

// reaches is when a flight reaches a place along the way, had it gone on as it ended.
func (w *way) reaches(a arc, meet float64) float64 {
	return a.to.t + min(max((meet-w.on(a.to))/w.nearing(a), -bounceLong), bounceLong)
}

// rise is how much more changes just after t than just before.
func (l line) rise(t float64) float64 {
	var sum float64
	for d := swingStep / 2; d < swingEdge; d += swingStep {
		sum += l.at(t+d) - l.at(t-d)
	}
	return sum * swingStep / swingEdge
}
