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
	flightSlow   = 50  // pixels a second: slower is not a ball
	flightStep   = 1.6 // pixels between two pictures that are no tremor of a still spot ...
	flightSure   = 100 // ... and pixels a second at which less will do
	flightFast   = 3000
	flightLeast  = 4    // sightings that make a flight
	flightLength = 18.0 // pixels that it must cover
	flightGap    = 0.13 // s after which it is over
	flightWays   = 8    // directions told apart
	flightMark   = 220  // written where a ball was seen
	flightChance = -7.0 // log of so many such flights that chance may make of a picture's spots
	flightNear   = 24.0 // pixels around a place in which spots are counted for that
)

// flight is a spot followed over pictures.
type flight struct {
	sign   int8
	points []flightPoint
	vx, vy float64 // pixels a second, at its end
	chance float64 // log of how many flights as straight as this chance makes of such spots
	sure   bool
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
	from, to   flightPoint
	vx, vy     float64 // over the whole flight
	mass       float64
	points     int
	rough      float64 // pixels by which it is off a smooth curve
	endX, endY float64 // pixels a second at its end, by that curve
	begX, begY float64 // pixels a second at its beginning, by that curve
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
		best, about := -1, 0
		for i, s := range spots {
			if s.sign != fl.sign {
				continue
			}
			d := math.Hypot(s.x-px, s.y-py)
			if d < flightNear {
				about++
			}
			if d < gate {
				best, gate = i, d
			}
		}
		if best >= 0 {
			s := &spots[best]
			s.used = true
			vx, vy := (s.x-end.x)/since, (s.y-end.y)/since
			fl.vx, fl.vy = (fl.vx+vx)/2, (fl.vy+vy)/2
			fl.points = append(fl.points, flightPoint{t, s.x, s.y, s.mass, n})
			fl.chance += min(math.Log(float64(about)*max(gate, 1)*max(gate, 1)/(flightNear*flightNear)), 0)
			if fresh := len(fl.points) - 1; fl.sure {
				done(&fl, fresh)
			} else if fl.certain() {
				fl.sure = true
				done(&fl, 0)
			}
		}
		keep = append(keep, fl)
	}
	f.live = keep
	if f.lastN > 0 && dt > 0 && dt < flightGap {
		// A ball that flies from the camera is slow in the picture.
		slow := min(max(flightStep/dt, flightSlow), flightSure)
		pairs := math.Log(float64(max(len(f.last)*len(spots), 1)))
		for _, a := range f.last {
			if a.used {
				continue
			}
			for _, b := range spots {
				if b.used || a.sign != b.sign {
					continue
				}
				speed := math.Hypot(b.x-a.x, b.y-a.y) / dt
				if speed < slow || speed > flightFast || b.mass > 3*a.mass || a.mass > 3*b.mass {
					continue
				}
				f.live = append(f.live, flight{
					sign:   a.sign,
					chance: pairs,
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
	if !fl.sure {
		return
	}
	a := arc{from: fl.points[0], to: fl.points[len(fl.points)-1], points: len(fl.points)}
	dt := a.to.t - a.from.t
	a.vx, a.vy = (a.to.x-a.from.x)/dt, (a.to.y-a.from.y)/dt
	for _, p := range fl.points {
		a.mass += p.mass / float64(len(fl.points))
	}
	var offX, offY float64
	a.begX, a.endX, offX = bend(fl.points, func(p flightPoint) float64 { return p.x })
	a.begY, a.endY, offY = bend(fl.points, func(p flightPoint) float64 { return p.y })
	a.rough = math.Hypot(offX, offY)
	f.arcs = append(f.arcs, a)
}

// bend lays a parabola through one coordinate of a flight by least squares. It
// gives the speed at its beginning and end and how far the points lie off it,
// root mean square.
func bend(points []flightPoint, of func(flightPoint) float64) (first, last, off float64) {
	end := points[len(points)-1].t
	var s [5]float64 // sums of powers of the time
	var r [3]float64
	for _, p := range points {
		u, x := p.t-end, of(p)
		pow := 1.0
		for k := range s {
			s[k] += pow
			if k < 3 {
				r[k] += pow * x
			}
			pow *= u
		}
	}
	// Cramer's rule for the 3 x 3 normal equations.
	det := func(a, b, c, d, e, f, g, h, i float64) float64 { return a*(e*i-f*h) - b*(d*i-f*g) + c*(d*h-e*g) }
	all := det(s[0], s[1], s[2], s[1], s[2], s[3], s[2], s[3], s[4])
	if math.Abs(all) < 1e-18 {
		n := len(points) - 1
		mean := (of(points[n]) - of(points[0])) / max(points[n].t-points[0].t, 1e-3)
		return mean, mean, 0
	}
	c0 := det(r[0], s[1], s[2], r[1], s[2], s[3], r[2], s[3], s[4]) / all
	c1 := det(s[0], r[0], s[2], s[1], r[1], s[3], s[2], r[2], s[4]) / all
	c2 := det(s[0], s[1], r[0], s[1], s[2], r[1], s[2], s[3], r[2]) / all
	for _, p := range points {
		u := p.t - end
		d := of(p) - c0 - c1*u - c2*u*u
		off += d * d
	}
	return c1 + 2*c2*(points[0].t-end), c1, math.Sqrt(off / float64(len(points)))
}

// finish gives all flights of a stretch once its pictures are over, ascending
// by their ends.
func (f *flights) finish() []arc {
	for _, fl := range f.live {
		f.land(fl)
	}
	f.live = nil
	slices.SortFunc(f.arcs, func(a, b arc) int { return cmp.Compare(a.to.t, b.to.t) })
	return f.arcs
}

// certain says whether a flight is long enough to be one, and too straight to
// be made of unrelated spots. The latter counts how many such alignments are to
// be expected where spots lie by chance (Desolneux, Moisan & Morel 2000,
// Meaningful alignments, Int J Comput Vis 40:7-23).
func (fl *flight) certain() bool {
	if len(fl.points) < flightLeast || fl.chance > flightChance {
		return false
	}
	a, b := fl.points[0], fl.points[len(fl.points)-1]
	return math.Hypot(b.x-a.x, b.y-a.y) >= flightLength
}

// way is the direction of a flight as one of flightWays sectors.
func (fl *flight) way() int {
	a, b := fl.points[0], fl.points[len(fl.points)-1]
	turn := math.Atan2(b.y-a.y, b.x-a.x)/(2*math.Pi) + 1
	return int(math.Round(turn*flightWays)) % flightWays
}

// smooth says whether a flight follows a smooth curve. One that lasts gets
// ever farther away or nearer, by which it is no parabola in the picture.
func (a arc) smooth() bool { return a.rough <= wayRough*max((a.to.t-a.from.t)/roughTime, 1) }

// length is how far a flight goes, in pixels.
func (a arc) length() float64 { return math.Hypot(a.to.x-a.from.x, a.to.y-a.from.y) }

// along is the cosine of the angle between two flights.
func (a arc) along(b arc) float64 {
	n := math.Hypot(a.vx, a.vy) * math.Hypot(b.vx, b.vy)
	if n == 0 {
		return 0
	}
	return (a.vx*b.vx + a.vy*b.vy) / n
}
