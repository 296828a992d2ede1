package sound

import (
	"math"
	"math/rand/v2"
)

// vowels are the first three formants in hertz (adult women, rounded; from
// memory after Peterson and Barney 1952).
var vowels = [][3]float64{
	{310, 2790, 3310}, {430, 2480, 3070}, {610, 2330, 2990}, {860, 2050, 2850},
	{850, 1220, 2810}, {590, 920, 2710}, {470, 1160, 2680}, {370, 950, 2670}, {760, 1400, 2780},
}

// talk is a phrase of made-up syllables: a buzz with a moving pitch through
// formants, with hisses and stops between. It says nothing.
func talk(to []float32, r *rand.Rand, e Event) []float32 {
	out := make([]float64, int(e.Seconds*Rate))
	low := r.Float64() < 0.45
	pitch, scale := 195+40*r.Float64(), 1.0
	if low {
		pitch, scale = 108+25*r.Float64(), 0.86
	}
	at := 0
	phase, tilt := 0.0, 0.0
	var res [3]resonator
	form := vowels[r.IntN(len(vowels))]
	for at < len(out) {
		next := vowels[r.IntN(len(vowels))]
		n := int((0.09 + 0.13*r.Float64()) * Rate)
		rise := 1.18 - 0.36*float64(at)/float64(len(out)) + 0.12*(2*r.Float64()-1)
		loud := 0.55 + 0.45*r.Float64()
		for i := 0; i < n && at+i < len(out); i++ {
			u := float64(i) / float64(n)
			f0 := pitch * (rise + 0.05*math.Sin(2*math.Pi*u))
			if i%64 == 0 {
				for k := range res {
					res[k].tune(scale*(form[k]+(next[k]-form[k])*min(1, u*1.6)), 70+35*float64(k))
				}
			}
			phase += f0 / Rate
			pulse := 0.0
			if phase >= 1 {
				phase--
				pulse = 1
			}
			tilt += (pulse*8 - tilt) * 0.18
			breath := 0.015 * (2*r.Float64() - 1)
			env := math.Min(1, math.Min(u/0.18, (1-u)/0.25)) * loud
			src := (tilt + breath) * env
			out[at+i] += res[0].next(src) + 0.5*res[1].next(src) + 0.22*res[2].next(src)
		}
		at += n
		form = next
		at = consonant(out, r, at)
		if r.Float64() < 0.12 {
			at += int((0.08 + 0.2*r.Float64()) * Rate)
		}
	}
	return scaled(to, out, 0.55)
}

// consonant adds a hiss or a stop at a place and returns where it ends.
func consonant(out []float64, r *rand.Rand, at int) int {
	switch v := r.Float64(); {
	case v < 0.3: // hiss
		n := int((0.04 + 0.06*r.Float64()) * Rate)
		f := lowPass(3500)
		for i := 0; i < n && at+i < len(out); i++ {
			w := float32(2*r.Float64() - 1)
			out[at+i] += 0.10 * float64(w-f.next(w)) * math.Sin(math.Pi*float64(i)/float64(n))
		}
		return at + n
	case v < 0.6: // stop: a short silence, then a small burst
		gap := int(0.035 * Rate)
		for i := 0; i < int(0.012*Rate) && at+gap+i < len(out); i++ {
			out[at+gap+i] += 0.2 * (2*r.Float64() - 1) * math.Exp(-float64(i)/(0.004*Rate))
		}
		return at + gap
	}
	return at
}

// resonator is a two-pole resonance.
type resonator struct{ a, b, c, y1, y2 float64 }

func (q *resonator) tune(hertz, width float64) {
	rad := math.Exp(-math.Pi * width / Rate)
	q.b = 2 * rad * math.Cos(2*math.Pi*hertz/Rate)
	q.c = -rad * rad
	q.a = 1 - q.b - q.c
}

func (q *resonator) next(x float64) float64 {
	y := q.a*x + q.b*q.y1 + q.c*q.y2
	q.y1, q.y2 = y, q.y1
	return y
}
