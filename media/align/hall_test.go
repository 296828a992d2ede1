package align

import (
	"context"
	"math"
	"math/rand/v2"
)

// hallRate is the rate at which a hall is heard, samples a second.
const hallRate = 16000

// hall is an invented hour at the nets: what sounds where, on one true clock.
type hall struct {
	seconds float64
	sounds  [4]bool
	places  [4][]float32 // at the batter, at the bowler, next net, and what comes from everywhere
}

const (
	atBatter = iota
	atBowler
	nextNet
	everywhere
)

// hallSpec says what happens in a hall.
type hallSpec struct {
	seconds   float64
	gap       float64 // s between balls; 0: none
	talk      bool
	neighbour float64 // level of the next net's bats; 0: none
	clack     float64 // s between a machine's clacks, always the same; 0: none
	ambience  float64 // level of what is heard everywhere
}

func newHall(seed uint64, s hallSpec) *hall {
	r := rand.New(rand.NewPCG(seed, 5))
	h := &hall{seconds: s.seconds}
	for i := range h.places {
		h.places[i] = make([]float32, int(s.seconds*hallRate))
	}
	if s.gap > 0 {
		for t := r.Float64() * s.gap; t < s.seconds; t += s.gap * (0.6 + 0.8*r.Float64()) {
			h.knock(r, atBowler, t-0.9, 0.05, 0.02)
			h.knock(r, atBatter, t-0.15, 0.08, 0.015)
			if r.Float64() < 0.8 {
				h.knock(r, atBatter, t, 0.2+0.2*r.Float64(), 0.01)
			}
			h.knock(r, atBatter, t+0.2+0.3*r.Float64(), 0.05, 0.03)
		}
	}
	if s.neighbour > 0 {
		for t := r.Float64() * 6; t < s.seconds; t += 4 + 4*r.Float64() {
			h.knock(r, nextNet, t, s.neighbour, 0.01)
		}
	}
	if s.clack > 0 {
		for t := 0.3; t < s.seconds; t += s.clack {
			h.knock(rand.New(rand.NewPCG(seed, 9)), atBowler, t, 0.2, 0.01)
		}
	}
	if s.talk {
		for t := 2.0; t < s.seconds; t += 4 + 10*r.Float64() {
			for range 4 + r.IntN(12) {
				h.syllable(r, atBowler, t, 0.05)
				t += 0.12 + 0.15*r.Float64()
			}
		}
	}
	h.sounds[everywhere] = s.ambience > 0
	for i := range h.places[everywhere] {
		h.places[everywhere][i] += float32(s.ambience * r.NormFloat64())
	}
	return h
}

// knock is a few decaying modes and a hiss.
func (h *hall) knock(r *rand.Rand, place int, t, level, decay float64) {
	track := h.places[place]
	h.sounds[place] = true
	from, n := int(t*hallRate), int(8*decay*hallRate)
	for range 6 {
		f, phase := 150+3000*r.Float64()*r.Float64(), 2*math.Pi*r.Float64()
		for i := range n {
			if at := from + i; at >= 0 && at < len(track) {
				x := float64(i) / hallRate
				track[at] += float32(level * 0.4 * math.Exp(-x/decay) * math.Sin(2*math.Pi*f*x+phase))
			}
		}
	}
	for i := range n {
		if at := from + i; at >= 0 && at < len(track) {
			track[at] += float32(level * 0.5 * math.Exp(-float64(i)/hallRate/(decay/3)) * r.NormFloat64())
		}
	}
}

// syllable is a voiced sound that rises and falls.
func (h *hall) syllable(r *rand.Rand, place int, t, level float64) {
	track := h.places[place]
	h.sounds[place] = true
	pitch, form := 90+120*r.Float64(), 400+1500*r.Float64()
	from, n := int(t*hallRate), int((0.1+0.1*r.Float64())*hallRate)
	for k := 1.0; k*pitch < 3500; k++ {
		loud := math.Exp(-math.Abs(k*pitch-form) / 600)
		if loud < 0.05 {
			continue
		}
		for i := range n {
			if at := from + i; at >= 0 && at < len(track) {
				swell := math.Sin(math.Pi * float64(i) / float64(n))
				track[at] += float32(level * loud * swell * math.Sin(2*math.Pi*k*pitch*float64(i)/hallRate+k*k))
			}
		}
	}
}

// camera is one microphone with a clock of its own.
type camera struct {
	start, seconds float64    // when it was switched on, on the hall's clock, and for how long
	ppm            float64    // how much faster its clock runs than the hall's
	metres         [4]float64 // to each place; negative: not heard
	gain           float64    // negative: the other polarity
	low, high      float64    // Hz: cut off below and above; 0: not
	noise          float64    // its own
	echo           float64    // level of one echo, 37 ms later
	hum            float64    // of a machine beside it
	clip           bool
	seed           uint64
}

// hear is what a camera records of a hall, at the rate that is used here.
func (h *hall) hear(c camera) take {
	r := rand.New(rand.NewPCG(c.seed, 77))
	if c.gain == 0 {
		c.gain = 1
	}
	n := int(c.seconds * hallRate)
	out := make([]float64, n)
	for p, track := range h.places {
		if !h.sounds[p] || c.metres[p] < 0 {
			continue
		}
		late := Late(c.metres[p])
		for i := range out {
			x := (c.start + float64(i)/hallRate/(1+c.ppm/1e6) - late) * hallRate
			out[i] += cubic(track, x)
			if c.echo != 0 {
				out[i] += c.echo * cubic(track, x-0.037*hallRate)
			}
		}
	}
	if c.high > 0 {
		lowpass(out, c.high)
		lowpass(out, c.high)
	}
	if c.low > 0 {
		highpass(out, c.low)
		highpass(out, c.low)
	}
	for i := range out {
		t := float64(i) / hallRate
		out[i] += c.noise*r.NormFloat64() + c.hum*(math.Sin(2*math.Pi*100*t)+0.6*math.Sin(2*math.Pi*700*t)+0.4*math.Sin(2*math.Pi*2300*t))
		out[i] *= c.gain
		if c.clip {
			out[i] = min(1, max(-1, 12*out[i]))
		}
	}
	lowpass(out, 3300)
	lowpass(out, 3300)
	t := make(take, n/2)
	for i := range t {
		t[i] = float32(out[2*i])
	}
	return t
}

func cubic(track []float32, x float64) float64 {
	i := int(math.Floor(x))
	if i < 1 || i+2 >= len(track) {
		return 0
	}
	f := x - float64(i)
	a, b, c, d := float64(track[i-1]), float64(track[i]), float64(track[i+1]), float64(track[i+2])
	return b + f/2*(c-a+f*(2*a-5*b+4*c-d+f*(3*(b-c)+d-a)))
}

func lowpass(x []float64, hz float64) {
	k, y := 1-math.Exp(-2*math.Pi*hz/hallRate), 0.0
	for i := range x {
		y += k * (x[i] - y)
		x[i] = y
	}
}

func highpass(x []float64, hz float64) {
	k, y := 1-math.Exp(-2*math.Pi*hz/hallRate), 0.0
	for i := range x {
		y += k * (x[i] - y)
		x[i] -= y
	}
}

// take is a recording that is there already, at the rate that is used here.
type take []float32

func (t take) Sound(_ context.Context, _ int, fn func([]float32) error) error {
	const piece = 5000
	for from := 0; from < len(t); from += piece {
		if err := fn(t[from:min(len(t), from+piece)]); err != nil {
			return err
		}
	}
	return nil
}

// truth is where b's clock lies on a's: a = offset + own*(1+ppm/1e6).
func truth(a, b camera) (offset, ppm float64) {
	offset = (b.start - a.start) * (1 + a.ppm/1e6)
	return offset, ((1+a.ppm/1e6)/(1+b.ppm/1e6) - 1) * 1e6
}

// anyPair is a hall and two cameras as they may come, from easy to hopeless.
func anyPair(seed uint64) (h *hall, a, b camera, related bool) {
	r := rand.New(rand.NewPCG(seed, 3))
	between := func(low, high float64) float64 { return low + (high-low)*r.Float64() }
	level := func(low, high float64) float64 { return math.Exp(between(math.Log(low), math.Log(high))) }
	often := func(share float64) bool { return r.Float64() < share }
	overlap := level(6, 130)
	spec := hallSpec{seconds: 140 + overlap, gap: level(3, 25), talk: often(0.5), ambience: level(1e-5, 1e-2)}
	if often(0.2) {
		spec.neighbour = level(0.05, 0.5)
	}
	if often(0.15) {
		spec.clack = between(1, 9)
	}
	if often(0.1) {
		spec.gap = 0
	}
	mic := func() camera {
		c := camera{
			metres: [4]float64{between(4, 25), between(2, 25), between(5, 30), 0}, gain: level(0.05, 1),
			ppm: between(-60, 60), noise: level(1e-4, 0.1), clip: often(0.1), seed: r.Uint64(),
		}
		if often(0.5) {
			c.gain = -c.gain
		}
		if often(0.3) {
			c.high = level(600, 3000)
		}
		if often(0.3) {
			c.low = level(100, 1500)
		}
		if often(0.3) {
			c.echo = between(0.1, 0.7)
		}
		if often(0.2) {
			c.hum = level(0.001, 0.1)
		}
		return c
	}
	a, b = mic(), mic()
	a.start, a.seconds = 0, between(20, 70)+overlap
	b.start, b.seconds = a.seconds-overlap, between(20, 70)+overlap
	if often(0.3) { // one within the other
		b.start, b.seconds = between(0, a.seconds-overlap), overlap
	}
	if often(0.5) {
		a, b = b, a
	}
	related = !often(0.25)
	return newHall(seed, spec), a, b, related
}

// hearBoth records the pair; unrelated ones come from two halls.
// alike puts all of it as far from the cameras, so that the truth is one number.
func hearBoth(seed uint64, alike bool) (a, b take, offset, ppm float64, d Distances, related bool) {
	h, camA, camB, related := anyPair(seed)
	if alike {
		camA.metres, camB.metres = everywhereAlike, everywhereAlike
	}
	other := h
	if !related {
		other, _, _, _ = anyPair(seed + 1<<40)
	}
	offset, ppm = truth(camA, camB)
	return h.hear(camA), other.hear(camB), offset, ppm, Distances{camA.metres[0], camB.metres[0]}, related
}
