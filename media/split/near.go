package split

import "math"

// From behind the batter a ball is seen to come until it bounces, and is lost then
// before the batter or his bat, who are much nearer. Where on its way it is met is
// told by all balls together: by their batter's swings, laid over each other, and by
// those that are seen to go. Where some are seen to turn, and few to go, it is known already.
const (
	nearStep = 2.0   // pixels between two places that are tried
	nearOff  = 0.05  // s by which what is usual from the bounce to the bat differs: a near batter's swings tell less
	nearLost = 0.06  // s after contact for which a ball that goes is not seen yet,
	nearGone = 0.035 // by which that is mistaken,
	nearFrom = 0.06  // and by which the place where balls are met is mistaken of when one is (invented scenes),
	nearFar  = 0.3   // but what is seen to go so long before or after that says has been to the net
	nearSlow = 0.75  // of the pace that is usual: one that seems slower was half hidden when it was last seen
	nearDown = 0.6   // part of the way's direction that is down the picture, at least

	swingBegins = 0.04 // s before contact when most of the swing begins that is seen from near: how it goes on differs (invented scenes)
	swingEdge   = 0.1  // s
	swingStep   = 0.02
)

// nears says whether a way leads to the camera, past the batter.
func (w *way) nears() bool { return !w.climbs && w.uy > nearDown && looms(w.group) }

// nearing are the balls that come on a way that nears, each with its batter's swing.
type nearing struct {
	balls  []*pass
	swings []line
	pace   float64 // pixels a second along the way that is usual at the end
	left   int     // balls that are seen to go
	turned bool    // whether some were seen to turn
}

// meetNear sets where the balls of a way that nears meet the bat, and when.
func (s *session) meetNear(w *way, cells []float64) {
	var n nearing
	var paces []float64
	for i := range w.passes {
		p := &w.passes[i]
		n.turned = n.turned || p.turned
		v := s.viewOf(p.at)
		if v == nil || !p.bowled() {
			continue
		}
		n.balls = append(n.balls, p)
		n.swings = append(n.swings, v.changes(cells, p.came.to.t+restLong/2, restLong).even())
		paces = append(paces, w.nearing(p.came))
		if _, ok := p.left(); ok {
			n.left++
		}
	}
	n.pace = middle(paces)
	if len(n.balls) < restLeast || n.turned && n.left < meetLeast {
		return
	}
	w.meet = n.likeliest(w)
	for _, p := range n.balls {
		at := n.reaches(w, p.came, w.meet)
		switch t, left := p.left(); {
		case left && math.Abs(t-at) < nearFar:
			at = unseenBetween(p.came, *p.gone, midway(at, nearFrom, t, nearGone))
		case p.turned && math.Abs(at-p.at) < nearLost: // it was hardly out of sight
			at = p.at
		default: // what seemed to turn went on from its bounce
			p.turned = false
		}
		p.at, p.onward = at, w.on(p.came.to) > w.meet+n.paceOf(w, p.came)*passLeast
	}
}

// likeliest is where along the way balls are met, pixels.
func (n nearing) likeliest(w *way) float64 {
	from, to := math.Inf(1), math.Inf(-1)
	for _, p := range n.balls {
		on := w.on(p.came.to)
		from, to = min(from, on), max(to, on+w.nearing(p.came)*restLong)
	}
	best, top := w.meet, math.Inf(-1)
	for meet := from; meet <= to; meet += nearStep {
		sum, took := 0.0, make([]float64, len(n.balls))
		for i, p := range n.balls {
			at := n.reaches(w, p.came, meet)
			took[i] = at - p.came.to.t
			sum += n.swings[i].rise(at - swingBegins)
			if t, ok := p.left(); ok && n.left >= meetLeast {
				off := (at - t) / restRise
				sum += restRose * math.Exp(-off*off/2)
			}
		}
		off := (middle(took) - restUsual) / nearOff
		if sum -= off * off / 2; sum > top {
			best, top = meet, sum
		}
	}
	return best
}

// reaches is when a flight reaches a place along the way, had it gone on as it ended.
func (n nearing) reaches(w *way, a arc, meet float64) float64 {
	return a.to.t + min(max((meet-w.on(a.to))/n.paceOf(w, a), -bounceLong), bounceLong)
}

// paceOf is how fast a flight goes on, at least nearly as fast as is usual.
func (n nearing) paceOf(w *way, a arc) float64 { return max(w.nearing(a), nearSlow*n.pace) }

// left is when a ball was met that is seen to go, after it bounced or was lost: what is seen
// at once is how it goes on from there.
func (p *pass) left() (at float64, ok bool) {
	if p.gone == nil {
		return 0, false
	}
	at = p.gone.from.t - nearLost
	return at, at > p.came.to.t
}

// nearing is how fast a flight goes along the way at its end: what nears the camera
// gets faster in the picture.
func (w *way) nearing(a arc) float64 { return max(w.pace(a), w.level(a), 1) }

// rise is how much more changes just after t than just before.
func (l line) rise(t float64) float64 {
	var sum float64
	for d := swingStep / 2; d < swingEdge; d += swingStep {
		sum += l.at(t+d) - l.at(t-d)
	}
	return sum * swingStep / swingEdge
}
