package split

import (
	"math"
	"slices"
)

// crackPeak is the amplitude of a bat's sound at the microphone.
const crackPeak = 0.35

// blow describes a class of knocks: modes in Hz, how fast they die and how
// much of the sound is noise.
type blow struct {
	modes       []float64
	decay       float64 // s
	hiss        float64
	hissDecay   float64
	attack      float64 // s
	brightModes float64 // how much louder the high modes are
}

var (
	batBlow   = blow{[]float64{140, 430, 900, 1500, 2300, 3400, 5000}, 0.012, 0.5, 0.004, 0.0004, 1}
	floorBlow = blow{[]float64{90, 140, 220, 380}, 0.02, 0.12, 0.006, 0.002, 0.7}
	netBlow   = blow{[]float64{110, 180, 300}, 0.04, 0.25, 0.05, 0.012, 0.7}
	clapBlow  = blow{[]float64{700, 1100, 1700}, 0.006, 1.2, 0.012, 0.001, 1}
	stepBlow  = blow{[]float64{70, 130, 250}, 0.015, 0.1, 0.01, 0.004, 0.6}
	gripBlow  = blow{[]float64{160, 300, 520}, 0.03, 0.4, 0.03, 0.006, 0.9}
)

func (w *world) mix() {
	w.sound = make([]float32, int(w.seconds*soundRate))
	r := w.rng
	bat := batBlow // this session's bat
	bat.modes = slices.Clone(bat.modes)
	for i := range bat.modes {
		bat.modes[i] *= math.Exp(0.12 * r.NormFloat64())
	}
	bat.decay *= math.Exp(0.3 * r.NormFloat64())
	late := w.distance / 343
	sample := func() []float32 {
		if len(w.impacts) == 0 {
			return nil
		}
		return w.impacts[r.IntN(len(w.impacts))]
	}
	ownSample := sample()
	for _, b := range w.balls {
		w.knock(b.bounce+late*1.3, crackPeak*dB(-12+4*r.NormFloat64()), floorBlow, 8000, nil)
		if w.machine {
			w.knock(b.release+late*2, crackPeak*dB(-14+2*r.NormFloat64()), gripBlow, 6000, nil)
		}
		if w.bowler {
			for i := range 8 {
				w.knock(b.release-2+0.25*float64(i)+late*2, crackPeak*dB(-22+3*r.NormFloat64()), stepBlow, 6000, nil)
			}
		}
		if b.struck {
			w.knock(b.passing+late, crackPeak*dB(3.5*r.NormFloat64()-2), bat, 8000, ownSample)
		}
		w.knock(b.passing+late+0.15+0.3*r.Float64(), crackPeak*dB(-15+3*r.NormFloat64()), netBlow, 5000, nil)
	}
	nextSample := sample()
	for _, b := range w.elsewhere {
		down := dB(-w.down + 3*r.NormFloat64())
		if b.struck {
			w.knock(b.passing, crackPeak*down, bat, 3500, nextSample)
		}
		w.knock(b.bounce, crackPeak*down*dB(-12), floorBlow, 3000, nil)
	}
	for range int(float64(w.claps) * w.minutes) {
		w.knock(r.Float64()*w.seconds, crackPeak*dB(-8+4*r.NormFloat64()), clapBlow, 8000, nil)
	}
	w.chatter()
	w.background()
	w.microphone()
}

func dB(x float64) float64 { return math.Pow(10, x/20) }

// knock adds one blow at t with a peak amplitude, low-passed, with the echo
// of the hall; a recorded sample takes the place of the made sound.
func (w *world) knock(t, peak float64, k blow, cut float64, recorded []float32) {
	r := w.rng
	n := int(0.25 * soundRate)
	made := make([]float64, n)
	if recorded != nil {
		n = min(len(recorded), soundRate/2)
		made = make([]float64, n)
		for i := range made {
			made[i] = float64(recorded[i]) * math.Exp(0.05*r.NormFloat64())
		}
	} else {
		phase := make([]float64, len(k.modes))
		amp := make([]float64, len(k.modes))
		for m := range k.modes {
			phase[m] = r.Float64() * 2 * math.Pi
			amp[m] = math.Exp(0.4*r.NormFloat64()) * math.Pow(k.brightModes, float64(m))
		}
		decay := k.decay * math.Exp(0.15*r.NormFloat64())
		for i := range made {
			s := float64(i) / soundRate
			rise := 1 - math.Exp(-s/k.attack)
			for m, f := range k.modes {
				made[i] += rise * amp[m] * math.Exp(-s/(decay*math.Pow(k.modes[0]/f, 0.3))) * math.Sin(2*math.Pi*f*s+phase[m])
			}
			made[i] += rise * k.hiss * 2 * math.Exp(-s/k.hissDecay) * r.NormFloat64()
		}
	}
	var top float64
	lp := butterworth(min(cut, 7500), false)
	for i := range made {
		if cut < 7500 {
			made[i] = lp.step(made[i])
		}
		top = max(top, math.Abs(made[i]))
	}
	if top == 0 {
		return
	}
	at := int(math.Round(t * soundRate))
	w.add(at, made, peak/top)
	if w.echo > 0 {
		tail := make([]float64, int(w.echo*soundRate))
		lp := butterworth(min(cut, 3500), false)
		for i := range tail {
			tail[i] = lp.step(r.NormFloat64()) * math.Exp(-6.9*float64(i)/float64(len(tail)))
		}
		w.add(at+soundRate/80, tail, peak*0.05)
	}
}

func (w *world) add(at int, x []float64, gain float64) {
	for i, v := range x {
		if j := at + i; j >= 0 && j < len(w.sound) {
			w.sound[j] += float32(v * gain)
		}
	}
}

// chatter adds talk: recorded speech if there is some, else pulses of a voice
// through moving resonances, hisses, and bursts after short silences.
func (w *world) chatter() {
	r := w.rng
	level := crackPeak * dB(w.talkLevel)
	for t := 1.0; t < w.seconds-4 && w.talk > 0; {
		length := 1 + 3*r.Float64()
		if len(w.speech) > 0 {
			s := w.speech[r.IntN(len(w.speech))]
			x := make([]float64, len(s))
			for i := range s {
				x[i] = float64(s[i])
			}
			length = float64(len(s)) / soundRate
			w.add(int(t*soundRate), x, level*dB(3*r.NormFloat64()))
		} else {
			w.say(t, length, level*dB(3*r.NormFloat64()))
		}
		t += length + length*(1-w.talk)/w.talk*(0.5+r.Float64())
	}
}

func (w *world) say(t, length, level float64) {
	r := w.rng
	pitch := 90 + 140*r.Float64()
	end := t + length
	for t < end {
		syllable := 0.1 + 0.15*r.Float64()
		n := int(syllable * soundRate)
		x := make([]float64, n)
		f := [3]float64{300 + 500*r.Float64(), 900 + 1300*r.Float64(), 2300 + 700*r.Float64()}
		kind := r.IntN(4)
		at := 0
		switch kind {
		case 0: // a stop: silence, then a burst
			at = int(0.05 * soundRate)
			for i := range int(0.012 * soundRate) {
				x[at+i] += 0.5 * r.NormFloat64() * math.Exp(-float64(i)/(0.004*soundRate))
			}
			at += int(0.015 * soundRate)
		case 1: // a hiss
			hp := butterworth(3000, true)
			for i := range int(0.07 * soundRate) {
				u := float64(i) / (0.07 * soundRate)
				x[i] += 0.35 * hp.step(r.NormFloat64()) * math.Sin(math.Pi*u)
			}
			at = int(0.06 * soundRate)
		}
		p := pitch * math.Exp(0.1*r.NormFloat64())
		for pulse := float64(at); pulse < float64(n)-1; pulse += soundRate / p * math.Exp(0.01*r.NormFloat64()) {
			u := (pulse - float64(at)) / float64(n-at)
			loud := math.Min(1, u*8) * math.Sqrt(max(1-u, 0))
			for i := int(pulse); i < n; i++ {
				s := (float64(i) - pulse) / soundRate
				if s > 0.03 {
					break
				}
				for m, fm := range f {
					x[i] += loud * 0.5 / float64(m+1) * math.Exp(-s*float64(250+150*m)) * math.Sin(2*math.Pi*fm*s)
				}
			}
		}
		w.add(int(t*soundRate), x, level)
		t += syllable
		if r.IntN(5) == 0 {
			t += 0.2
		}
	}
}

// background adds hall or open-air noise, wind, and a machine's whirr.
func (w *world) background() {
	r := w.rng
	level := crackPeak * dB(w.noise)
	var slow, gust float64
	lp := butterworth(150, false)
	for i := range w.sound {
		white := r.NormFloat64()
		slow += 0.05 * (white - slow)
		x := 0.5*white + 2*slow
		if w.machine {
			s := float64(i) / soundRate
			x += 0.6*math.Sin(2*math.Pi*97*s) + 0.3*math.Sin(2*math.Pi*194.3*s) + 0.2*math.Sin(2*math.Pi*1210*s)
		}
		if w.wind {
			if i%1600 == 0 {
				gust += 0.1 * (math.Abs(3*r.NormFloat64()) - gust)
			}
			x += 40 * gust * lp.step(white)
		}
		w.sound[i] += float32(x * level)
	}
}

func (w *world) microphone() {
	if w.dull > 0 {
		lp := butterworth(w.dull, false)
		for i, x := range w.sound {
			w.sound[i] = float32(lp.step(float64(x)))
		}
	}
	gain := float32(1)
	if w.clip {
		gain = 12
	}
	for i, x := range w.sound {
		w.sound[i] = min(max(x*gain, -1), 1)
	}
}
