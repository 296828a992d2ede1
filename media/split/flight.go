package split

import (
	"cmp"
	"math"
	"slices"
)

// A ball in flight is a small spot that crosses the picture fast and nearly
// straight. Hardly anything else in a net does: limbs are large and turn,
// people are slow. Flights are looked for in what changed from picture to
// picture.
const (
	spotLargest  = 60  // pixels of a spot; more is a limb or a person
	spotsMost    = 40  // in one picture, the clearest
	spotClear    = 7   // pixels around a spot in which nothing large moves
	spotAlone    = 14  // pixels around a spot in which hardly any other is
	flightSlow   = 100 // pixels a second: slower is not a ball
	flightFast   = 3000
	flightLeast  = 4    // sightings that make a flight
	flightLength = 18.0 // pixels that it must cover
	flightGap    = 0.13 // s after which it is over
	flightWays   = 8    // directions told apart
	flightMark   = 220  // written where a ball was seen
)

// spot is a small connected area that became brighter (+1) or darker (-1).
type spot struct {
	x, y float64
	mass float64
	sign int8
	used bool // part of a flight
}

// flight is a spot followed over pictures.
type flight struct {
	sign   int8
	points []flightPoint
	vx, vy float64 // pixels a second, at its end
}

type flightPoint struct {
	t, x, y float64
	mass    float64
	row     int // of the view
}

// flights follows spots from picture to picture.
type flights struct {
	live  []flight
	last  []spot
	lastT float64
	lastN int
	arcs  []arc // the flights that are over
}

// arc is a flight that is over: where it began and ended, pixels and seconds,
// and how fast it was then, pixels a second.
type arc struct {
	from, to      flightPoint
	vx, vy        float64 // over the whole flight
	mass          float64
	continued     bool // another flight goes on from its end
	onFromAnother bool // it goes on from another's end
}

// follow takes the spots of the picture at t, which is row n of its view, and
// gives the flights that have just become certain or longer; of these, points
// from index fresh on are new.
func (f *flights) follow(t float64, n int, spots []spot, done func(fl *flight, fresh int)) {
	dt := t - f.lastT
	keep := f.live[:0]
	for _, fl := range f.live {
		end := fl.points[len(fl.points)-1]
		since := t - end.t
		if since > flightGap {
			f.land(fl)
			continue
		}
		// Where it should be now; the ball may be lost for a picture before a
		// bright or dark ground.
		px, py := end.x+fl.vx*since, end.y+fl.vy*since
		step := math.Hypot(fl.vx, fl.vy) * since
		gate := 1.5 + 0.25*step
		if len(fl.points) > 2 {
			gate = 1.5 + 0.15*step
		}
		best := -1
		for i, s := range spots {
			if d := math.Hypot(s.x-px, s.y-py); s.sign == fl.sign && d < gate {
				best, gate = i, d
			}
		}
		if best >= 0 {
			s := &spots[best]
			s.used = true
			vx, vy := (s.x-end.x)/since, (s.y-end.y)/since
			fl.vx, fl.vy = (fl.vx+vx)/2, (fl.vy+vy)/2
			fl.points = append(fl.points, flightPoint{t, s.x, s.y, s.mass, n})
			if fl.certain() {
				fresh := len(fl.points) - 1
				if fresh+1 == flightLeast || !certainBefore(fl) {
					fresh = 0
				}
				done(&fl, fresh)
			}
		}
		keep = append(keep, fl)
	}
	f.live = keep
	if f.lastN > 0 && dt > 0 && dt < flightGap {
		for _, a := range f.last {
			if a.used {
				continue
			}
			for _, b := range spots {
				if b.used || a.sign != b.sign {
					continue
				}
				speed := math.Hypot(b.x-a.x, b.y-a.y) / dt
				if speed < flightSlow || speed > flightFast || b.mass > 3*a.mass || a.mass > 3*b.mass {
					continue
				}
				f.live = append(f.live, flight{
					sign:   a.sign,
					points: []flightPoint{{f.lastT, a.x, a.y, a.mass, n - 1}, {t, b.x, b.y, b.mass, n}},
					vx:     (b.x - a.x) / dt, vy: (b.y - a.y) / dt,
				})
			}
		}
	}
	const most = 4000 // a picture full of spots is noise, not balls
	if len(f.live) > most {
		f.live = f.live[:most]
	}
	f.last, f.lastT, f.lastN = append(f.last[:0], spots...), t, n+1
}

// land notes a flight that is over.
func (f *flights) land(fl flight) {
	if !fl.certain() {
		return
	}
	a := arc{from: fl.points[0], to: fl.points[len(fl.points)-1]}
	dt := a.to.t - a.from.t
	a.vx, a.vy = (a.to.x-a.from.x)/dt, (a.to.y-a.from.y)/dt
	for _, p := range fl.points {
		a.mass += p.mass / float64(len(fl.points))
	}
	f.arcs = append(f.arcs, a)
}

// finish gives all flights of a stretch once its pictures are over, ascending
// by their ends. A ball makes a bright and a dark trace, is lost for a moment
// or bounces: pieces that go on from one another are marked.
func (f *flights) finish() []arc {
	for _, fl := range f.live {
		f.land(fl)
	}
	f.live = nil
	slices.SortFunc(f.arcs, func(a, b arc) int { return cmp.Compare(a.to.t, b.to.t) })
	for i := range f.arcs {
		a := &f.arcs[i]
		for j := range f.arcs {
			b := &f.arcs[j]
			if i != j && b.to.t > a.to.t && a.leads(b) {
				a.continued, b.onFromAnother = true, true
			}
		}
	}
	return f.arcs
}

// leads says whether b goes on where a ends, in about the same direction.
func (a *arc) leads(b *arc) bool {
	const (
		wait = 0.2 // s
		turn = 0.5 // cosine of the greatest turn
		off  = 8.0 // pixels beside where it should be, and a quarter of the way
	)
	gap := b.from.t - a.to.t
	if gap > wait || b.from.t < a.from.t {
		return false
	}
	x, y := a.to.x+a.vx*gap, a.to.y+a.vy*gap
	way := math.Hypot(a.vx, a.vy)
	if math.Hypot(b.from.x-x, b.from.y-y) > off+0.25*way*math.Abs(gap) {
		return false
	}
	speed := math.Hypot(b.vx, b.vy)
	return a.vx*b.vx+a.vy*b.vy > turn*way*speed && speed > way/2.5 && way > speed/2.5
}

// certain says whether a flight is long enough to be one.
func (fl *flight) certain() bool { return certain(fl.points) }

func certainBefore(fl flight) bool { return certain(fl.points[:len(fl.points)-1]) }

func certain(p []flightPoint) bool {
	if len(p) < flightLeast {
		return false
	}
	a, b := p[0], p[len(p)-1]
	return math.Hypot(b.x-a.x, b.y-a.y) >= flightLength
}

// way is the direction of a flight as one of flightWays sectors.
func (fl *flight) way() int {
	a, b := fl.points[0], fl.points[len(fl.points)-1]
	turn := math.Atan2(b.y-a.y, b.x-a.x)/(2*math.Pi) + 1
	return int(math.Round(turn*flightWays)) % flightWays
}

// spotter finds the small areas of a picture of signed changes.
type spotter struct {
	width, height int
	seen          []bool
	crowded       []bool // near something large
	stack         []int
	found         []spot
}

func newSpotter(width, height int) *spotter {
	return &spotter{width: width, height: height, seen: make([]bool, width*height), crowded: make([]bool, width*height)}
}

// spots are the small areas that lie by themselves: a ball over the ground, not
// a hand or a seam of somebody who moves.
func (p *spotter) spots(diff []float32) []spot {
	clear(p.seen)
	clear(p.crowded)
	p.found = p.found[:0]
	for i, d := range diff {
		if d != 0 && !p.seen[i] {
			p.area(diff, i)
		}
	}
	var out []spot
	for i, s := range p.found {
		if p.crowded[int(s.y)*p.width+int(s.x)] {
			continue
		}
		others := 0
		for j, o := range p.found {
			if i != j && o.sign == s.sign && math.Abs(o.x-s.x) < spotAlone && math.Abs(o.y-s.y) < spotAlone {
				others++
			}
		}
		if others <= 1 {
			out = append(out, s)
		}
	}
	if len(out) > spotsMost {
		slices.SortFunc(out, func(a, b spot) int { return cmp.Compare(b.mass, a.mass) })
		out = out[:spotsMost]
	}
	return out
}

// area walks the connected area of pixel i: a small one is noted, the ground
// around a large one is marked as crowded.
func (p *spotter) area(diff []float32, i int) {
	sign := diff[i] > 0
	p.stack = append(p.stack[:0], i)
	p.seen[i] = true
	var x, y, mass float64
	// The stack is kept whole: what has been walked lies below at.
	for at := 0; at < len(p.stack); at++ {
		j := p.stack[at]
		w := math.Abs(float64(diff[j]))
		jx, jy := j%p.width, j/p.width
		x, y, mass = x+w*float64(jx), y+w*float64(jy), mass+w
		for _, k := range [4]int{j - 1, j + 1, j - p.width, j + p.width} {
			if k < 0 || k >= len(diff) || p.seen[k] || diff[k] == 0 || diff[k] > 0 != sign || k/p.width != jy && k%p.width != jx {
				continue
			}
			p.seen[k] = true
			p.stack = append(p.stack, k)
		}
	}
	if len(p.stack) <= spotLargest {
		if len(p.found) < 10*spotsMost {
			s := spot{x: x / mass, y: y / mass, mass: mass, sign: -1}
			if sign {
				s.sign = 1
			}
			p.found = append(p.found, s)
		}
		return
	}
	for n, j := range p.stack {
		if n%4 != 0 { // its pixels lie close together: some will do
			continue
		}
		jx, jy := j%p.width, j/p.width
		for y := max(jy-spotClear, 0); y <= min(jy+spotClear, p.height-1); y++ {
			for x := max(jx-spotClear, 0); x <= min(jx+spotClear, p.width-1); x++ {
				p.crowded[y*p.width+x] = true
			}
		}
	}
}
