package plain

import (
	"math"
	"sort"
)

// deed is what a batter does.
type deed int

const (
	hit deed = iota
	miss
	leave
	shadow
	tap
)

// stroke is one movement of the bat, its middle at the time of contact.
type stroke struct {
	at    float64
	what  deed
	back  float64 // rad of the back-lift
	down  float64 // rad of the swing through
	lunge float64 // share of the figure's height
	quick float64 // s of the downswing
}

// choreograph gives every ball its stroke and fills the time between.
func (w *World) choreograph() {
	r := w.rng
	draw := func(at float64, what deed) stroke {
		s := stroke{at: at, what: what, back: between(r, 0.7, 1.6), down: between(r, 1.4, 3), lunge: between(r, -0.1, 0.25), quick: between(r, 0.12, 0.22)}
		switch what {
		case leave:
			s.down = 0
			s.back = between(r, 0.8, 1.5)
		case tap:
			s.back, s.down, s.lunge, s.quick = 0.25, 0.25, 0, 0.12
		}
		return s
	}
	for i := range w.Balls {
		b := &w.Balls[i]
		what := hit
		if !b.Struck {
			if what = miss; r.IntN(2) == 0 {
				what = leave
			}
		}
		b.stroke = draw(b.Passing+map[bool]float64{true: 0, false: between(r, -0.06, 0.06)}[b.Struck], what)
		w.strokes = append(w.strokes, b.stroke)
		next := w.Seconds
		if i+1 < len(w.Balls) {
			next = w.Balls[i+1].Passing
		}
		if w.Taps > 0 && next-b.Passing > 3.2 {
			for k := range int(w.Taps) {
				w.strokes = append(w.strokes, draw(next-2.6+0.45*float64(k), tap))
			}
		}
		if room := next - b.Passing - 5; room > 0 && r.Float64() < w.Shadows {
			w.strokes = append(w.strokes, draw(b.Passing+2+room*r.Float64(), shadow))
		}
	}
	if len(w.Balls) == 0 {
		for t := between(r, 3, 8); t < w.Seconds-2 && w.Shadows > 0; t += 60 / w.Shadows * between(r, 0.4, 1.6) {
			w.strokes = append(w.strokes, draw(t, shadow))
		}
	}
	sort.Slice(w.strokes, func(i, j int) bool { return w.strokes[i].at < w.strokes[j].at })
}

// batter is where the batter's bat and body are at t: the bat's angle from
// hanging down (positive: back), and how far the body has moved forward.
func batter(list []stroke, t float64) (angle, lunge float64) {
	i := sort.Search(len(list), func(i int) bool { return list[i].at > t-2.5 })
	for ; i < len(list) && list[i].at < t+2; i++ {
		s := list[i]
		c := s.at
		if s.what == tap {
			angle += s.back * (ease(t, c-0.2, c-0.05) - ease(t, c-0.05, c+0.1))
			continue
		}
		lift, whole := c-0.55, s.back+s.down
		angle += s.back * ease(t, lift, c-s.quick)
		if s.down > 0 {
			angle -= whole * ease(t, c-s.quick, c+0.55*s.quick)
			angle += s.down * ease(t, c+0.55, c+1.15)
		} else {
			angle -= s.back * ease(t, c+0.45, c+1.1)
		}
		lunge += s.lunge * (ease(t, c-0.45, c-0.12) - ease(t, c+0.5, c+1.2))
	}
	return angle, lunge
}

// arm is the feeder's throwing arm's angle at t, and how far up the run it
// stands, 0 at the release point to 1.
func (w *World) arm(t float64) (angle, away float64) {
	i := sort.Search(len(w.Balls), func(i int) bool { return w.Balls[i].Release > t-1.2 })
	for j := i; j < len(w.Balls) && w.Balls[j].Release < t+1.5; j++ {
		r := w.Balls[j].Release
		switch w.Feed {
		case Bowler:
			angle += 2 * math.Pi * ease(t, r-0.4, r+0.25)
		case Thrower:
			angle += 2.6 * (ease(t, r-0.7, r-0.2) - ease(t, r-0.18, r+0.06))
		case Machine:
			angle += 0.9 * (ease(t, r-1, r-0.5) - ease(t, r-0.35, r-0.05))
		}
	}
	if w.Feed != Bowler || len(w.Balls) == 0 {
		return angle, 0
	}
	if i == len(w.Balls) {
		return angle, ease(t, w.Balls[i-1].Release+1.2, w.Balls[i-1].Release+5)
	}
	next, last := w.Balls[i].Release, -10.0
	if i > 0 {
		last = w.Balls[i-1].Release + 1.2
	}
	run := min(1.8, max((next-last)/2, 0.2))
	return angle, ease(t, last, min(last+4, next-run)) - ease(t, next-run, next)
}

// walk is somebody who crosses the picture.
type walk struct {
	from, to    float64 // s
	x0, x1      float64 // in picture heights
	foot, tall  float64
	shade, pace float64
}

func (w *World) walk() {
	r := w.rng
	for range w.Walkers {
		for t := between(r, 0, 15); t < w.Seconds; {
			k := walk{from: t, to: t + between(r, 4, 14), foot: between(r, 0.5, 0.98), tall: between(r, 0.2, 0.5),
				shade: between(r, 30, 200), pace: between(r, 1.6, 2.2)}
			k.x0, k.x1 = -0.1, w.aspect()+0.1
			if r.IntN(3) == 0 {
				k.x1 = between(r, 0, w.aspect()) // stops
			}
			if r.IntN(2) == 0 {
				k.x0, k.x1 = w.aspect()-k.x0, w.aspect()-k.x1
			}
			w.walks = append(w.walks, k)
			t = k.to + between(r, 2, 20)
		}
	}
}

// jolt is how far the camera is off at t, in picture heights.
func (w *World) jolt(t float64) (x, y float64) {
	if w.Shake == 0 {
		return 0, 0
	}
	p := float64(w.Seed % 89)
	x = math.Sin(t*1.3+p) + 0.4*math.Sin(t*5.1+2*p) + 0.1*math.Sin(t*23+p)
	y = math.Sin(t*1.1+3*p) + 0.4*math.Sin(t*6.3+p) + 0.1*math.Sin(t*27+p)
	return w.Shake * x, w.Shake * y
}

// flight is where the ball is at t and its size; ok is false when there is
// none in the air.
func (w *World) flight(b Ball, t float64, from, at [2]float64, floor float64) (p [2]float64, size float64, ok bool) {
	if t < b.Release || t > b.Passing+0.7 {
		return p, 0, false
	}
	near, far := 1.0, 1.0 // how large the ball is at the batter and at the feeder
	switch w.View {
	case BehindArm:
		near, far = 0.6, 1.6
	case BehindBatter:
		near, far = 1.5, 0.5
	}
	if t <= b.Passing {
		u := (t - b.Release) / (b.Passing - b.Release)
		k := (b.Bounce - b.Release) / (b.Passing - b.Release)
		// Perspective: a far ball seems slow.
		v := u * near / (u*near + (1-u)*far)
		vk := k * near / (k*near + (1-k)*far)
		p[0] = from[0] + (at[0]-from[0])*v
		ground := floor
		if w.View != Side {
			ground = from[1] + (at[1]-from[1])*vk + 0.1*w.Size
		}
		if u <= k {
			p[1] = from[1] + (ground-from[1])*math.Pow(u/k, 1.5)
		} else {
			p[1] = ground + (at[1]-ground)*math.Sqrt((u-k)/(1-k))
		}
		return p, far + (near-far)*u, true
	}
	since := t - b.Passing
	dx, dy := at[0]-from[0], at[1]-from[1]
	if !b.Struck { // goes on into the net
		since = min(since, 0.25)
		n := max(math.Hypot(dx, dy), 0.1)
		return [2]float64{at[0] + dx/n*since*1.6, at[1] + (dy/n)*since*0.8 + 0.2*since*since}, near, t-b.Passing < 0.5
	}
	away := -1.0
	if dx > 0 {
		away = 1
	}
	if w.View == Side {
		return [2]float64{at[0] - away*since*1.8*(0.3+math.Abs(b.line)), at[1] - since*0.9*b.line}, near, true
	}
	return [2]float64{at[0] + since*1.6*b.line, at[1] - since*0.7*dy/max(math.Abs(dy), 0.05)*math.Abs(b.line)}, near, true
}
