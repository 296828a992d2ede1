package split

import (
	"math"
	"sort"
)

// pass is a ball that was seen to come.
type pass struct {
	at      float64 // s: when it meets the batter
	release float64 // s: when it was first seen
	length  float64 // pixels that it was followed
	onward  bool    // it went on past the batter as it came
	turned  bool    // it went off another way: struck, at turn s
	turn    float64
	came    arc  // the last flight in which it came
	gone    *arc // the flight that came next and went another way, nil if none did
}

// onwards follows a flight over its bounce: the piece that begins where it ends
// and still comes on, if there is one.
func (w *way) onwards(v *view, a arc) arc {
	const (
		wait = 0.16 // s
		off  = 16.0 // pixels
	)
	for range 3 {
		found := false
		for _, b := range v.arcs {
			gap := b.from.t - a.to.t
			if b.to.t <= a.to.t || gap < -0.1 || gap > wait || b.rough > wayRough || b.mass > wayMass*a.mass || a.mass > wayMass*b.mass {
				continue
			}
			if math.Hypot(b.from.x-a.to.x-a.endX*gap, b.from.y-a.to.y-a.endY*gap) > off || w.toward(b) < 0.4 {
				continue
			}
			a, found = b, true
			break
		}
		if !found {
			break
		}
	}
	return a
}

// toward is the cosine of a flight's angle to the way.
func (w *way) toward(a arc) float64 {
	n := math.Hypot(a.vx, a.vy)
	if n == 0 {
		return 0
	}
	return (a.vx*w.ux + a.vy*w.uy) / n
}

// turns says when a ball that came in went off another way: when both flights
// are equally far along the way.
func (w *way) turns(v *view, in arc) (at float64, ok bool) {
	const (
		wait = 0.45 // s
		back = 0.3  // cosine: what turns by less goes on
	)
	longest := 0.0
	on, _ := w.along(in.to)
	came := in.endX*w.ux + in.endY*w.uy
	for _, out := range v.arcs {
		gap := out.from.t - in.to.t
		if gap < -0.05 || gap > wait || out.rough > wayRough || w.toward(out) > back || out.mass > 4*in.mass || in.mass > 4*out.mass || out.length() < longest {
			continue
		}
		from, _ := w.along(out.from)
		left := out.vx*w.ux + out.vy*w.uy
		if came-left < 1 {
			continue
		}
		when := in.to.t + (from-left*gap-on)/(came-left)
		if when < in.to.t-0.06 || when > out.from.t+0.06 {
			continue
		}
		at, ok, longest = when, true, out.length()
	}
	return at, ok
}

// list turns flights into passes, the longest of each ball.
func (s *session) passes(w *way, flights []arc) []pass {
	var out []pass
	for _, first := range flights {
		from, _ := w.along(first.from)
		v := s.viewOf(first.to.t)
		if from >= w.meet || v == nil {
			continue
		}
		a := w.onwards(v, first)
		on, _ := w.along(a.to)
		speed := a.endX*w.ux + a.endY*w.uy
		if speed <= 0 {
			continue
		}
		p := pass{came: a, at: a.to.t + min(max((w.meet-on)/speed, -0.6), 0.6), release: first.from.t, length: math.Hypot(a.to.x-first.from.x, a.to.y-first.from.y)}
		p.onward = on > w.meet+speed*passLeast
		if !p.onward {
			if p.turn, p.turned = w.turns(v, a); p.turned {
				p.at = p.turn
			}
			p.gone = w.goes(v, a)
		}
		if n := len(out); n > 0 && math.Abs(p.at-out[n-1].at) < 0.6 {
			o := &out[n-1]
			p.onward = p.onward || o.onward
			p.release = min(p.release, o.release)
			if p.gone == nil {
				p.gone = o.gone
			}
			if o.length > p.length {
				p.at, p.length, p.turn, p.turned, p.came = o.at, o.length, o.turn, o.turned, o.came
			}
			*o = p
			continue
		}
		out = append(out, p)
	}
	w.converge(out)
	sort.SliceStable(out, func(i, j int) bool { return out[i].at < out[j].at })
	return out
}
