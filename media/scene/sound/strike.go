package sound

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
)

// voices make the samples of each kind of event at a loudness of 1, heard from
// the reference distance. Bat and ball touch for about a millisecond; the bat
// then rings in bending modes from some hundred hertz up (orders of magnitude
// from memory; no measured spectrum of a cricket bat was found).
var voices = [kindCount]func([]float32, *rand.Rand, Event) []float32{
	Bat: func(to []float32, r *rand.Rand, _ Event) []float32 {
		return strike(to, r, 0.62, []mode{
			{170, 0.10, 18}, {430, 0.34, 13}, {690, 0.30, 11}, {1180, 0.52, 7.5}, {1840, 0.46, 5.5},
			{2750, 0.34, 3.8}, {4100, 0.24, 2.4}, {6300, 0.16, 1.5}}, 0.55, 0.9)
	},
	Mistimed: func(to []float32, r *rand.Rand, _ Event) []float32 {
		return strike(to, r, 0.46, []mode{
			{128, 0.34, 42}, {250, 0.34, 26}, {410, 0.42, 17}, {640, 0.34, 12}, {1050, 0.26, 7}, {1700, 0.14, 4}, {3000, 0.08, 2}}, 0.30, 0.9)
	},
	Edge: func(to []float32, r *rand.Rand, _ Event) []float32 {
		return strike(to, r, 0.30, []mode{
			{880, 0.16, 5}, {1900, 0.30, 4}, {3200, 0.44, 3}, {4700, 0.44, 2.2}, {6900, 0.32, 1.5}}, 0.6, 0.6)
	},
	Bounce: func(to []float32, r *rand.Rand, _ Event) []float32 {
		return strike(to, r, 0.15, []mode{{84, 0.8, 26}, {132, 0.7, 18}, {245, 0.4, 9}, {520, 0.16, 5}}, 0.22, 5)
	},
	Net: func(to []float32, r *rand.Rand, _ Event) []float32 {
		to = rustle(to, r, 0.10, 0.26, 0.016, 0.075, 2600, 17)
		return to
	},
	Canvas: func(to []float32, r *rand.Rand, _ Event) []float32 {
		return strike(to, r, 0.26, []mode{{62, 0.9, 60}, {98, 0.7, 42}, {170, 0.4, 20}, {300, 0.2, 10}}, 0.35, 9)
	},
	Stumps: stumps,
	Body: func(to []float32, r *rand.Rand, _ Event) []float32 {
		return strike(to, r, 0.24, []mode{{110, 0.7, 24}, {190, 0.6, 17}, {330, 0.4, 10}, {560, 0.18, 6}}, 0.45, 4)
	},
	Foot: func(to []float32, r *rand.Rand, _ Event) []float32 {
		to = strike(to, r, 0.05, []mode{{70, 0.8, 22}, {118, 0.6, 15}}, 0.3, 11)
		return rustle(to, r, 0.012, 0.09, 0.02, 0.03, 3200, 0)
	},
	Launch: func(to []float32, r *rand.Rand, _ Event) []float32 {
		to = strike(to, r, 0.24, []mode{{150, 0.7, 30}, {310, 0.5, 18}, {720, 0.3, 8}}, 0.4, 3)
		return rustle(to, r, 0.06, 0.2, 0.03, 0.05, 1800, 0)
	},
	Talk: talk,
}

// mode is one damped tone: hertz, share, decay in milliseconds.
type mode struct{ hertz, share, decay float64 }

// strike mixes damped tones and a burst of noise (share noise, decay burst
// milliseconds) and scales the whole to a peak.
func strike(to []float32, r *rand.Rand, peak float64, modes []mode, noise, burst float64) []float32 {
	longest := burst
	for _, m := range modes {
		longest = max(longest, m.decay)
	}
	out := make([]float64, int(longest*7*Rate/1000))
	for _, m := range modes {
		f := m.hertz * (1 + 0.05*(2*r.Float64()-1))
		a := m.share * (0.85 + 0.3*r.Float64())
		// A damped tone is a turning vector that shrinks.
		turn := cmplx.Rect(math.Exp(-1000/m.decay/Rate), 2*math.Pi*f/Rate)
		v := cmplx.Rect(a, r.Float64()*0.6)
		for i := range out[:min(len(out), int(m.decay*7*Rate/1000))] {
			out[i] += imag(v)
			v *= turn
		}
	}
	last := 0.0
	for i := range out {
		s := float64(i) / Rate * 1000
		if s > burst*7 {
			break
		}
		white := 2*r.Float64() - 1
		// Long bursts are the soft ones: less of the high tones.
		k := min(1, 1.6/burst)
		last += (white - last) * k
		out[i] += noise * last * math.Exp(-s/burst) * 1.4
	}
	return scaled(to, out, peak*(0.92+0.16*r.Float64()))
}

// rustle is a burst of soft noise that rises and falls, with a flutter.
func rustle(to []float32, r *rand.Rand, peak, seconds, rise, decay, cut, flutter float64) []float32 {
	out := make([]float64, int(seconds*Rate))
	low := lowPass(cut)
	high := lowPass(180)
	for i := range out {
		s := float64(i) / Rate
		n := low.next(float32(2*r.Float64() - 1))
		n -= high.next(n)
		env := (1 - math.Exp(-s/rise)) * math.Exp(-s/decay)
		if flutter > 0 {
			env *= 0.7 + 0.3*math.Sin(2*math.Pi*flutter*s)
		}
		out[i] = float64(n) * env
	}
	return mixed(to, out, peak)
}

// stumps is a clatter of wood.
func stumps(to []float32, r *rand.Rand, e Event) []float32 {
	all := make([]float64, Rate/3)
	at := 0.0
	for hit := range 5 {
		one := strike(nil, r, 0.42/(1+0.6*float64(hit)), []mode{{520, 0.4, 14}, {940, 0.5, 10}, {1620, 0.4, 8}, {2600, 0.3, 5}}, 0.4, 1.2)
		for i, s := range one {
			if k := int(at*Rate) + i; k < len(all) {
				all[k] += float64(s)
			}
		}
		at += 0.018 + 0.05*r.Float64()
	}
	return scaled(to, all, 0.42)
}

// scaled replaces to by samples scaled to a peak.
func scaled(to []float32, from []float64, peak float64) []float32 { return mixed(to[:0], from, peak) }

// mixed adds samples, scaled to a peak, from the beginning of to.
func mixed(to []float32, from []float64, peak float64) []float32 {
	top := 1e-9
	for _, v := range from {
		top = max(top, math.Abs(v))
	}
	for len(to) < len(from) {
		to = append(to, 0)
	}
	for i, v := range from {
		to[i] += float32(v / top * peak)
	}
	return to
}
