package split

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"sort"

	"netreel/media"
)

// setting says what an invented session is like. The zero value of a field
// means "none of it".
type setting struct {
	seed       uint64
	minutes    float64
	gap        float64 // s between balls on average
	burst      bool    // balls come in bursts 2.5 s apart
	left       float64 // share of balls with no bat sound
	distance   float64 // m from bat to microphone
	dull       float64 // Hz above which the microphone hears little
	noise      float64 // dB of the background's level, relative to a crack's peak
	wind       bool
	neighbours int
	down       float64 // dB by which neighbours' bats are quieter
	talk       float64 // share of the time in which somebody talks
	talkLevel  float64 // dB relative to a crack's peak
	claps      int     // a minute
	shadows    float64 // shots without a ball, for each ball
	machine    bool
	bowler     bool // runs up
	echo       float64
	clip       bool // sound recorded too loud
	mute       bool // no audio stream
	fps        float64
	shake      float64 // pixels of hand shake
	behind     bool    // camera behind the arm
	portrait   bool
	grain      float64 // noise of the picture, grey levels
	flat       bool    // the encoder holds its rate: packets tell little
	vary       bool    // variable frame rate
}

// happening is one ball of an invented session, or a shadow shot.
type happening struct {
	release, bounce, passing, end float64
	struck, shadow                bool
	angle                         float64
}

// world is an invented session: Footage with truth.
type world struct {
	setting
	seconds   float64
	balls     []happening
	shadows   []happening
	elsewhere []happening // neighbours' balls
	sound     []float32
	times     []float64 // of the frames
	rng       *rand.Rand
	impacts   [][]float32 // recorded sounds to use instead of made ones; may be nil
	speech    [][]float32
}

func newWorld(s setting) *world { return newWorldWith(s, nil, nil) }

func newWorldWith(s setting, impacts, speech [][]float32) *world {
	w := &world{setting: s, seconds: s.minutes * 60, impacts: impacts, speech: speech,
		rng: rand.New(rand.NewPCG(s.seed, 77))}
	w.balls = w.schedule(s.gap, s.burst)
	for _, b := range w.balls {
		if w.rng.Float64() < s.shadows {
			at := b.passing + 2 + w.rng.Float64()*1.5
			w.shadows = append(w.shadows, happening{passing: at, release: at - 0.6, end: at + 1, shadow: true, struck: true})
		}
	}
	for range s.neighbours {
		w.elsewhere = append(w.elsewhere, w.schedule(s.gap*(0.7+0.6*w.rng.Float64()), false)...)
	}
	var t float64
	for t < w.seconds {
		w.times = append(w.times, t)
		step := 1 / s.fps
		if s.vary {
			step *= 0.6 + 0.8*w.rng.Float64()
			if w.rng.Float64() < 0.01 {
				step *= 4
			}
		}
		t += step
	}
	if !s.mute {
		w.mix()
	}
	return w
}

func (w *world) schedule(gap float64, burst bool) []happening {
	var out []happening
	t := 3 + 2*w.rng.Float64()
	n := 0
	for {
		g := gap * math.Exp(0.2*w.rng.NormFloat64())
		if burst && n%6 != 5 {
			g = 2.5 + 0.2*w.rng.Float64()
		}
		if n > 0 && n%12 == 0 && !burst {
			g += 10
		}
		if n > 0 {
			t += max(g, 2.4)
		}
		if t > w.seconds-2 {
			return out
		}
		n++
		flight := 0.45 + 0.35*w.rng.Float64()
		h := happening{passing: t, release: t - flight, bounce: t - flight*(0.2+0.3*w.rng.Float64()),
			end: t + 1, struck: w.rng.Float64() >= w.left, angle: w.rng.Float64()*2 - 1}
		out = append(out, h)
	}
}

// truth gives the balls as deliveries, times on the picture's clock.
func (w *world) truth() []media.Delivery {
	var out []media.Delivery
	for _, b := range w.balls {
		d := media.Delivery{Start: media.FromSeconds(b.release - 0.5), End: media.FromSeconds(b.passing + 0.8), Confidence: 1}
		if b.struck {
			c := media.FromSeconds(b.passing)
			d.Contact = &c
		}
		out = append(out, d)
	}
	return out
}

// probe describes the world as ffprobe would.
func (w *world) probe() media.Probe {
	p := media.Probe{VideoCodec: "h264", AudioCodec: "aac", Width: 1280, Height: 720,
		FrameRate: w.fps, Duration: media.FromSeconds(w.seconds)}
	if w.mute {
		p.AudioCodec = ""
	}
	if w.portrait {
		p.Width, p.Height = 720, 1280
	}
	return p
}

func (w *world) Sound(ctx context.Context, rate int, fn func([]float32) error) error {
	if rate != soundRate {
		panic("the invented world sounds at 16 kHz only")
	}
	for i := 0; i < len(w.sound); i += 4096 {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := fn(w.sound[i:min(i+4096, len(w.sound))]); err != nil {
			return err
		}
	}
	return nil
}

// Packets gives sizes that grow with what moves, as an encoder's do, with key
// frames each second and every other picture bidirectional and small.
func (w *world) Packets(ctx context.Context, fn func(media.Micros, int, bool) error) error {
	r := rand.New(rand.NewPCG(w.seed, 5))
	gop := int(w.fps)
	for i, t := range w.times {
		size := 3000 + 400*w.grain
		m := w.stir(t)
		if !w.flat {
			size *= 1 + m
		}
		size *= math.Exp(0.12 * r.NormFloat64())
		switch {
		case i%gop == 0:
			size = 25000 * math.Exp(0.05*r.NormFloat64())
		case i%2 == 1:
			size *= 0.45
		}
		if err := fn(media.FromSeconds(t), int(size), i%gop == 0); err != nil {
			return err
		}
	}
	return ctx.Err()
}

// stir is how much moves at time t, in about the units of a swing = 1.
func (w *world) stir(t float64) float64 {
	const d = 0.02
	var m float64
	a, b := w.pose(t-d), w.pose(t+d)
	for i := range a {
		m += math.Hypot(a[i][0]-b[i][0], a[i][1]-b[i][1])
	}
	if w.shake > 0 {
		x0, y0 := w.jolt(t - d)
		x1, y1 := w.jolt(t + d)
		m += 0.4 * math.Hypot(x1-x0, y1-y0)
	}
	return m * 4
}

func (w *world) jolt(t float64) (x, y float64) {
	p := float64(w.seed % 97)
	x = w.shake * (math.Sin(t*2.1+p) + 0.5*math.Sin(t*6.7+2*p) + 0.15*math.Sin(t*19+p))
	y = w.shake * (math.Sin(t*1.7+3*p) + 0.5*math.Sin(t*7.9+p) + 0.15*math.Sin(t*23+p))
	return
}

// near returns the happenings of a sorted list that touch t.
func near(list []happening, t float64) []happening {
	i := sort.Search(len(list), func(i int) bool { return list[i].passing > t-3 })
	j := i
	for j < len(list) && list[j].passing < t+6 {
		j++
	}
	return list[i:j]
}

func ease(t, from, to float64) float64 {
	u := min(max((t-from)/(to-from), 0), 1)
	return u * u * (3 - 2*u)
}

// pose places what moves, in picture heights from the picture's left top:
// bat, batter, feeder, feeder's arm, ball, neighbour, neighbour's bat, walker.
func (w *world) pose(t float64) [8][2]float64 {
	wide := 16.0 / 9
	if w.portrait {
		wide = 9.0 / 16
	}
	bx, fx := 0.7*wide, 0.15*wide
	if w.behind {
		bx, fx = 0.5*wide, 0.5*wide+0.06
	}
	var p [8][2]float64
	swing, lean := 0.0, 0.0
	p[1] = [2]float64{bx, 0.6}
	p[2] = [2]float64{fx, 0.55}
	arm := 0.0
	p[4] = [2]float64{-1, -1}
	for _, h := range slices.Concat(near(w.balls, t), near(w.shadows, t)) {
		c := h.passing
		if h.struck {
			swing += 0.5*ease(t, c-0.5, c-0.25) - 2.2*ease(t, c-0.2, c+0.08) + 1.7*ease(t, c+0.5, c+1.2)
		} else {
			swing += 0.7*ease(t, c-0.4, c-0.1) - 0.7*ease(t, c+0.4, c+0.9)
		}
		lean += 0.05*ease(t, c-0.55, c-0.2) - 0.05*ease(t, c+0.5, c+1.3)
		if h.shadow {
			continue
		}
		arm += 3 * (ease(t, h.release-0.35, h.release+0.05) - ease(t, h.release+0.5, h.release+1.2))
		switch {
		case t >= h.release && t < c:
			u := (t - h.release) / (c - h.release)
			p[4] = [2]float64{fx + (bx-fx)*u, 0.5 + 0.25*u*u}
		case t >= c && t < c+0.5 && h.struck:
			p[4] = [2]float64{bx + h.angle*(t-c)*2, 0.65 - 0.5*(t-c)}
		case t >= c && t < c+0.15:
			p[4] = [2]float64{bx + (bx-fx)*(t-c), 0.7}
		}
	}
	if w.bowler {
		p[2][0] -= 0.25 * w.back(t)
	}
	p[0] = [2]float64{bx - 0.05 + 0.16*math.Sin(swing), 0.6 + 0.16*math.Cos(swing)}
	p[1][0] -= lean
	p[3] = [2]float64{p[2][0] + 0.1*math.Sin(arm), 0.45 - 0.1*math.Cos(arm)}
	nb := 0.0
	for _, h := range near(w.elsewhere, t) {
		nb += -1.5*ease(t, h.passing-0.2, h.passing+0.08) + 1.5*ease(t, h.passing+0.5, h.passing+1.2)
	}
	p[5] = [2]float64{0.93 * wide, 0.42}
	p[6] = [2]float64{0.93*wide + 0.06*math.Sin(nb), 0.42 + 0.06*math.Cos(nb)}
	p[7] = [2]float64{math.Mod(t*0.05+float64(w.seed%7)*0.1, 1.4) * wide, 0.3}
	return p
}

// back is how far up the run the bowler is, 0 at the crease to 1: the walk back
// takes what time there is, the run two seconds.
func (w *world) back(t float64) float64 {
	i := sort.Search(len(w.balls), func(i int) bool { return w.balls[i].release+1 > t })
	if i == len(w.balls) {
		return ease(t, w.balls[i-1].release+1, w.balls[i-1].release+5)
	}
	next := w.balls[i].release
	if i == 0 {
		return 1 - ease(t, next-2, next)
	}
	last := w.balls[i-1].release + 1
	run := min(2, (next-last)/2)
	return ease(t, last, min(last+4, next-run)) - ease(t, next-run, next)
}

func (w *world) Pictures(ctx context.Context, within media.Span, width, height int, fps float64,
	fn func(at media.Micros, grey, blue, red []byte) error) error {
	last := math.Inf(-1)
	grey := make([]byte, width*height)
	for _, t := range w.times {
		at := media.FromSeconds(t)
		if !within.Contains(at) || fps > 0 && t-last < 0.99/fps {
			continue
		}
		last = t
		if err := ctx.Err(); err != nil {
			return err
		}
		w.draw(t, width, height, grey)
		if err := fn(at, grey, nil, nil); err != nil {
			return err
		}
	}
	return nil
}

// draw paints the picture at time t.
func (w *world) draw(t float64, width, height int, grey []byte) {
	jx, jy := w.jolt(t)
	scale := float64(height)
	if w.portrait {
		scale = float64(width) * 16 / 9
	}
	noise := rand.New(rand.NewPCG(w.seed, uint64(t*1e4))).IntN(len(grain))
	for y := range height {
		fy := float64(y)/scale + jy/720
		rowPhase, rowLevel := math.Sin(fy*7), 110+20*math.Sin(fy*31)
		for x := range width {
			fx := float64(x)/scale + jx/720
			v := rowLevel + 25*sine(fx*19+rowPhase) + w.grain*grain[noise]
			if noise++; noise == len(grain) {
				noise = 0
			}
			grey[y*width+x] = byte(min(max(v, 0), 255))
		}
	}
	blob := func(at [2]float64, rx, ry float64, v byte) {
		cx, cy := (at[0]-jx/720)*scale, (at[1]-jy/720)*scale
		rx, ry = max(rx*scale, 0.7), max(ry*scale, 0.7)
		for y := max(0, int(cy-ry)); y <= min(height-1, int(cy+ry+1)); y++ {
			for x := max(0, int(cx-rx)); x <= min(width-1, int(cx+rx+1)); x++ {
				dx, dy := (float64(x)-cx)/rx, (float64(y)-cy)/ry
				if dx*dx+dy*dy <= 1 {
					grey[y*width+x] = v
				}
			}
		}
	}
	p := w.pose(t)
	size := 1.0
	if w.behind {
		size = 0.5
	}
	blob(p[7], 0.03, 0.08, 60)
	blob(p[5], 0.025, 0.07, 70)
	blob(p[6], 0.012, 0.03, 200)
	blob(p[2], 0.04, 0.12, 50)
	blob(p[3], 0.02, 0.03, 180)
	blob(p[1], 0.05*size, 0.15*size, 40)
	blob(p[0], 0.025*size, 0.06*size, 210)
	blob(p[4], 0.008, 0.008, 240)
}

// grain is a table of normally distributed values, sines one of sines: drawing
// a picture would otherwise take longer than looking at it.
var grain, sines = func() (g [49999]float64, s [4096]float64) {
	r := rand.New(rand.NewPCG(1, 2))
	for i := range g {
		g[i] = r.NormFloat64()
	}
	for i := range s {
		s[i] = math.Sin(2 * math.Pi * float64(i) / float64(len(s)))
	}
	return
}()

func sine(x float64) float64 {
	return sines[int(x*float64(len(sines))/(2*math.Pi)+8*float64(len(sines)))&(len(sines)-1)]
}
