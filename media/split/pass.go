package split

import (
	"math"
	"sort"
)

// pass is a ball that was seen to come, or only to go.
type pass struct {
	at     float64     // s: when it meets the batter
	first  flightPoint // when and where it was first seen; at -1 s if that was after it was bowled: it was only seen to rise, or to go
	length float64     // pixels that it was followed
	onward bool        // it went on past the batter as it came
	fell   bool        // it was only seen to come down, before it bounced
	turned bool        // it went off another way: struck, at turn s
	turn   float64
	ground *ground // where it bounced, of a way that climbs; nil if that isn't told
	came   arc     // the last flight in which it came
	gone   *arc    // the flight that came next and went another way, nil if none did
}

const (
	turnOff   = 0.12  // s by which a turn is mistaken for each s that the ball was not seen,
	turnPlace = 0.025 // and by the place where others are met (invented scenes)
)

// unseenFirst is where a ball was first seen that was only seen after it was bowled.
var unseenFirst = flightPoint{t: -1}

// bowled says whether a ball was seen to come from the hand on, or some way after: not only
// to rise, or to go.
func (p *pass) bowled() bool { return p.first.t >= 0 }

// saw is told where and when a ball was seen as well.
func (p *pass) saw(at flightPoint) {
	if at.t < p.first.t {
		p.first = at
	}
}

// missed says whether a ball went on past the batter as it came. On a way that climbs that
// is no sign of it: struck balls are followed up the picture as often.
func (w *way) missed(p *pass) bool { return p.onward && !w.climbs }

// inOrder sorts passes by when they meet the batter.
func inOrder(passes []pass) {
	sort.SliceStable(passes, func(i, j int) bool { return passes[i].at < passes[j].at })
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
		for _, b := range v.air(w.warm).arcs {
			gap := b.from.t - a.to.t
			if b.to.t <= a.to.t || gap < -0.1 || gap > wait || b.rough > wayRough || !a.sized(b) {
				continue
			}
			if !w.bounces(a, b) && (w.toward(b) < 0.4 || w.level(b) <= 0 || math.Hypot(b.from.x-a.to.x-a.endX*gap, b.from.y-a.to.y-a.endY*gap) > off) {
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

// bounces says whether a flight is what the one before it becomes on the ground:
// it goes up as it came down (or the other way round: films lie on their heads),
// from where it came down, and in the level goes on as before or slower. It
// can't be told where the way is steep.
func (w *way) bounces(in, out arc) bool {
	const (
		off    = 10.0 // pixels
		slower = 0.35 // share of the level speed that is left at least
		faster = 1.5
	)
	if w.ay != 0 || in.endY*out.vy >= 0 {
		return false
	}
	if w.level(out) > 0 && in.bouncesInto(out) { // what goes away from the camera is slow over all of it
		return true
	}
	came, gap := w.pace(in), out.from.t-in.to.t
	if kept := w.level(out) / came; came <= 0 || kept < slower || kept > faster {
		return false
	}
	fell := math.Abs(in.endY) * math.Abs(gap)
	return math.Abs(out.from.x-in.to.x-in.endX*gap) < off && math.Abs(out.from.y-in.to.y) < fell+off
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
// are equally far along the way. For wait s it was seen neither to come nor to go. Of
// several that may be it, what goes soonest is: what goes later may have been to the net.
func (w *way) turns(v *view, in arc) (at, wait float64, ok bool) {
	const (
		most  = 0.7 // s: it may be lost from the bounce on, and before the batter
		back  = 0.3 // cosine: what turns by less goes on
		apart = 9.0 // pixels
	)
	if v.leaves(in) { // what comes back into the picture has been to the net
		return 0, 0, false
	}
	soonest := most
	on, came := w.on(in.to), w.pace(in)
	for _, out := range v.air(w.warm).arcs {
		gap := out.from.t - in.to.t
		if gap < -0.05 || gap >= soonest || out.rough > wayRough || w.toward(out) > back && w.level(out) > back*came || w.bounces(in, out) || !nearly(4, in.mass, out.mass) {
			continue
		}
		from, left := w.on(out.from), w.level(out)
		if came-left < 1 {
			continue
		}
		when := in.to.t + (from-left*gap-on)/(came-left)
		if when < in.to.t-0.06 || when > out.from.t+0.06 {
			continue
		}
		// Where a bounce can't be told, both must be at one place then: else
		// something lies between them.
		if w.ay != 0 && math.Hypot(in.to.x+in.endX*(when-in.to.t)-out.from.x-out.vx*(when-out.from.t),
			in.to.y+in.endY*(when-in.to.t)-out.from.y-out.vy*(when-out.from.t)) > apart {
			continue
		}
		at, wait, ok, soonest = unseenBetween(in, out, when), max(gap, 0), true, gap
	}
	return at, wait, ok
}

// unseenBetween is the time nearest to t at which a ball may have turned: it comes for as
// long as it is seen to, and goes from when it is seen to go.
func unseenBetween(in, out arc, t float64) float64 { return max(min(t, out.from.t), in.to.t) }

// midway is what two times say together, of which each may be mistaken by some time.
func midway(a, offA, b, offB float64) float64 {
	return (a*offB*offB + b*offA*offA) / (offA*offA + offB*offB)
}

// turnsBy is when a ball turned that for wait s was seen neither to come nor to go: by its
// own flights, and by where the session's balls are met, the more the longer that was.
func (w *way) turnsBy(p pass, wait float64) float64 {
	if w.climbs { // where balls are met is not told by where they turn
		return p.turn
	}
	at := midway(p.turn, turnOff*wait, p.at, turnPlace)
	return min(max(at, p.came.to.t), p.came.to.t+wait)
}

// passes turns flights into passes, the longest of each ball.
func (s *session) passes(w *way, flights []arc) []pass {
	var out []pass
	for _, first := range flights {
		from := w.on(first.from)
		v := s.viewOf(first.to.t)
		if from >= w.meet || v == nil {
			continue
		}
		a := w.onwards(v, first)
		on, speed := w.on(a.to), w.pace(a)
		if speed <= 0 {
			continue
		}
		p := pass{came: a, at: w.meets(a), first: first.from, length: math.Hypot(a.to.x-first.from.x, a.to.y-first.from.y)}
		p.onward = on > w.deep+speed*passLeast
		if !p.onward {
			var wait float64
			if p.turn, wait, p.turned = w.turns(v, a); p.turned {
				p.at = w.turnsBy(p, wait)
			}
			if !p.turned {
				p.at = w.noSooner(p.at, a)
			}
			p.gone = w.goes(v, a)
		}
		if n := len(out); n > 0 && math.Abs(p.at-out[n-1].at) < 0.6 {
			o := &out[n-1]
			p.onward = p.onward || o.onward
			p.saw(o.first)
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
	w.agree(out)
	w.converge(out)
	inOrder(out)
	return out
}

// noSooner is when a ball that is said to be met at t is met: not while it is still seen to
// come. It can't be told where the way is steep.
func (w *way) noSooner(t float64, came arc) float64 {
	if w.ay != 0 {
		return t
	}
	return max(t, came.to.t)
}

// agree takes back turns that lie far from where the session's balls turn: the
// batter stays where he is, and what comes back from the net has turned beyond.
func (w *way) agree(passes []pass) {
	const off = 16.0 // pixels, and four times the scatter
	var places []float64
	for _, p := range passes {
		if p.turned {
			places = append(places, w.place(p.came, p.turn))
		}
	}
	if len(places) < meetLeast {
		return
	}
	spread := scatter(places)
	meet := middle(places)
	for i := range passes {
		p := &passes[i]
		if d := w.place(p.came, p.turn) - meet; p.turned && math.Abs(d) > max(off, 4*spread) {
			p.at, p.turned, p.gone = w.noSooner(p.turn-d/w.pace(p.came), p.came), false, nil
		}
	}
}
