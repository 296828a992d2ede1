package plain

import (
	"math"
	"math/rand/v2"
)

// batPeak is the amplitude of a middling bat sound before gain.
const batPeak = 0.3

// tone is a calculated blow: decaying partials and a burst of noise.
type tone struct {
	low, high float64 // Hz, between which the partials lie
	partials  int
	ring      float64 // s
	hiss      float64 // share of noise
	puff      float64 // s that the noise lasts
	soft      float64 // s until it is at its loudest
}

var (
	batTone    = tone{350, 4200, 7, 0.014, 0.7, 0.004, 0.0003}
	bounceTone = tone{70, 420, 4, 0.022, 0.15, 0.008, 0.0025}
	netTone    = tone{60, 300, 3, 0.05, 0.5, 0.06, 0.01}
	stepTone   = tone{60, 260, 3, 0.02, 0.2, 0.015, 0.005}
	clapTone   = tone{700, 2200, 4, 0.008, 1.3, 0.014, 0.001}
	tapTone    = tone{150, 900, 4, 0.012, 0.3, 0.004, 0.001}
	rollTone   = tone{110, 700, 4, 0.03, 0.8, 0.03, 0.006}
)

func (k tone) make(r *rand.Rand) []float64 {
	out := make([]float64, int((6*k.ring+5*k.puff)*Rate))
	for p := range k.partials {
		f := k.low * math.Pow(k.high/k.low, (float64(p)+0.6*r.Float64())/float64(k.partials))
		amp, phase := math.Exp(0.5*r.NormFloat64()), 2*math.Pi*r.Float64()
		ring := k.ring * math.Sqrt(k.low/f) * 1.5
		for i := range out {
			s := float64(i) / Rate
			out[i] += amp * math.Exp(-s/ring) * math.Sin(2*math.Pi*f*s+phase)
		}
	}
	for i := range out {
		s := float64(i) / Rate
		out[i] = (out[i] + k.hiss*2*math.Exp(-s/k.puff)*r.NormFloat64()) * (1 - math.Exp(-s/k.soft))
	}
	return out
}

// mixer lays sounds on a track.
type mixer struct {
	track []float32
	echo  []float64 // tail of an impulse; nil for the open air
	r     *rand.Rand
}

// put adds a sound at t s with a peak, low-passed at cut Hz (0: not).
func (m *mixer) put(t float64, x []float64, peak, cut float64) {
	if cut > 0 {
		lp := lowPass(cut, Rate)
		y := make([]float64, len(x))
		for i, v := range x {
			y[i] = lp.step(v)
		}
		x = y
	}
	var top float64
	for _, v := range x {
		top = max(top, math.Abs(v))
	}
	if top == 0 {
		return
	}
	at := int(t * Rate)
	add := func(at int, x []float64, gain float64) {
		for i, v := range x {
			if j := at + i; j >= 0 && j < len(m.track) {
				m.track[j] += float32(gain * v)
			}
		}
	}
	add(at, x, peak/top)
	if m.echo != nil && len(x) < Rate {
		add(at+Rate*9/1000, x, 0.35*peak/top)
		add(at+Rate*23/1000, x, 0.22*peak/top)
		add(at, m.echo, 0.12*peak)
	}
}

func wide(x []float32) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = float64(v)
	}
	return out
}

// blow is a bat's sound: a recording, its speed varied a little, or calculated.
func (w *World) blow(kind Kind, own []float32) []float64 {
	if own == nil {
		return batTone.make(w.rng)
	}
	speed := math.Exp(0.02 * w.rng.NormFloat64())
	out := make([]float64, int(float64(len(own)-1)/speed))
	for i := range out {
		x := float64(i) * speed
		k := min(int(x), len(own)-2)
		out[i] = float64(own[k]) + float64(own[k+1]-own[k])*(x-float64(k))
	}
	return out
}

// Sound mixes the scene's sound: Rate samples a second, -1 to 1; nil if the
// scene is mute.
func (w *World) Sound() []float32 {
	if w.Mute {
		return nil
	}
	m := &mixer{track: make([]float32, int(w.Seconds*Rate)), r: w.rng}
	if w.Silent {
		return m.track
	}
	if w.Echo > 0 {
		m.echo = make([]float64, int(w.Echo*Rate))
		lp := lowPass(4000, Rate)
		for i := range m.echo {
			m.echo[i] = lp.step(w.rng.NormFloat64()) * math.Exp(-6.9*float64(i)/float64(len(m.echo)))
		}
	}
	w.mixOwn(m)
	w.mixOthers(m)
	w.mixTalk(m)
	w.microphone(m)
	return m.track
}

func (w *World) mixOwn(m *mixer) {
	r := w.rng
	late := w.Distance / 343
	blows := w.sounds.blows[w.Bat]
	for _, b := range w.Balls {
		if w.Feed == Machine {
			m.put(b.Release+late, rollTone.make(r), batPeak*dB(-14+2*r.NormFloat64()), 5000)
		}
		if w.Feed == Bowler {
			for k := range 6 {
				m.put(b.Release-0.25*float64(k)+late, stepTone.make(r), batPeak*dB(-24+3*r.NormFloat64()), 3000)
			}
		}
		m.put(b.Bounce+late, bounceTone.make(r), batPeak*dB(-11+3*r.NormFloat64()), 0)
		if b.Struck {
			m.put(b.Passing+late, w.blow(w.Bat, pick(r, blows)), batPeak*dB(w.Spread*r.NormFloat64()), 0)
			if r.IntN(2) == 0 {
				m.put(b.Passing+late+between(r, 0.2, 0.7), netTone.make(r), batPeak*dB(-16+3*r.NormFloat64()), 3000)
			}
		} else {
			m.put(b.Passing+late+between(r, 0.1, 0.35), netTone.make(r), batPeak*dB(-13+3*r.NormFloat64()), 3000)
		}
	}
	for _, s := range w.strokes {
		if s.what == tap {
			m.put(s.at+late, tapTone.make(r), batPeak*dB(-18+3*r.NormFloat64()), 0)
		}
	}
}

func (w *World) mixOthers(m *mixer) {
	r := w.rng
	for _, o := range w.others {
		bat := []Kind{Made, SideStick, Rimshot, Cajon, WoodBlock}[r.IntN(5)]
		down := w.Down + between(r, -2, 4)
		for _, b := range o.balls {
			m.put(b.Passing, w.blow(bat, pick(r, w.sounds.blows[bat])), batPeak*dB(-down+2.5*r.NormFloat64()), between(r, 2500, 6000))
			m.put(b.Bounce, bounceTone.make(r), batPeak*dB(-down-11), 2500)
		}
	}
	for range int(w.Claps * w.Seconds / 60) {
		x := wide(pick(r, w.sounds.claps))
		if len(x) == 0 {
			x = clapTone.make(r)
		}
		m.put(w.Seconds*r.Float64(), x, batPeak*dB(-5+4*r.NormFloat64()), 0)
	}
}

func (w *World) mixTalk(m *mixer) {
	r := w.rng
	for t := between(r, 0, 2); t < w.Seconds-1 && w.Talk > 0; {
		x := wide(pick(r, w.sounds.talk))
		if len(x) == 0 {
			x = mumble(r)
		}
		m.put(t, x, batPeak*dB(w.TalkLevel+3*r.NormFloat64()), 0)
		length := float64(len(x)) / Rate
		t += length + length*(1-w.Talk)/w.Talk*between(r, 0.5, 1.5)
	}
}

// mumble is calculated talk: syllables of pulses through two resonances, with
// hisses and stops between.
func mumble(r *rand.Rand) []float64 {
	x := make([]float64, int(between(r, 0.8, 3)*Rate))
	pitch := between(r, 90, 220)
	for at := 0; at < len(x)-Rate/4; {
		n := int(between(r, 0.12, 0.28) * Rate)
		f1, f2 := between(r, 300, 800), between(r, 900, 2300)
		for p := 0.0; p < float64(n); p += Rate / pitch * math.Exp(0.02*r.NormFloat64()) {
			loud := math.Sin(math.Pi * p / float64(n))
			for i := range 900 {
				if j := at + int(p) + i; j < len(x) {
					s := float64(i) / Rate
					x[j] += loud * math.Exp(-s*300) * (math.Sin(2*math.Pi*f1*s) + 0.6*math.Sin(2*math.Pi*f2*s))
				}
			}
		}
		if r.IntN(3) == 0 {
			for i := range 500 {
				x[at+i] += 0.6 * r.NormFloat64() * math.Exp(-float64(i)/150)
			}
		}
		at += n + r.IntN(Rate/10)
	}
	return x
}

// microphone adds the background and hears it all as the recorder does.
func (w *World) microphone(m *mixer) {
	r := w.rng
	level, wind := batPeak*dB(w.Noise), 0.0
	if w.Wind != 0 {
		wind = batPeak * dB(w.Wind)
	}
	rumble := lowPass(180, Rate)
	var dull *filter
	if w.Dull > 0 {
		dull = lowPass(w.Dull, Rate)
	}
	gain := dB(w.Gain)
	var p [3]float64
	gust := 0.0
	for i := range m.track {
		white := r.NormFloat64()
		// Three poles make it nearly pink (P. Kellet's economy filter).
		p[0] = 0.99765*p[0] + white*0.0990460
		p[1] = 0.96300*p[1] + white*0.2965164
		p[2] = 0.57000*p[2] + white*1.0526913
		x := float64(m.track[i]) + level*0.25*(p[0]+p[1]+p[2]+white*0.1848)
		s := float64(i) / Rate
		if w.Hum {
			x += level * (0.8*math.Sin(2*math.Pi*88*s) + 0.5*math.Sin(2*math.Pi*263*s) + 0.2*math.Sin(2*math.Pi*1420*s))
		}
		if wind > 0 {
			if i%(Rate/8) == 0 {
				gust += 0.3 * (math.Abs(r.NormFloat64()) - gust)
			}
			x += wind * gust * 6 * rumble.step(white)
		}
		if dull != nil {
			x = dull.step(x)
		}
		m.track[i] = float32(min(max(x*gain, -1), 1))
	}
}
