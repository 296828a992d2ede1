package sound

import (
	"math"
	"math/rand/v2"
)

// onePole is a first-order low-pass.
type onePole struct{ k, y float32 }

func lowPass(hertz float64) onePole {
	return onePole{k: float32(1 - math.Exp(-2*math.Pi*min(hertz, 0.45*Rate)/Rate))}
}

func (f *onePole) next(x float32) float32 {
	f.y += (x - f.y) * f.k
	return f.y
}

// room is a feedback delay network: four lines mixed by a Hadamard matrix
// (after Jot 1991), the reverberation of a hall full of nets.
type room struct {
	line  [4][]float32
	at    [4]int
	damp  [4]onePole
	decay [4]float32
}

// reverbTime is the time in which the room's sound falls by 60 dB, seconds.
const reverbTime = 1.1

func newRoom() *room {
	var q room
	for i, n := range []int{1433, 1867, 2399, 3011} {
		q.line[i] = make([]float32, n)
		q.damp[i] = lowPass(3800)
		q.decay[i] = float32(math.Pow(0.001, float64(n)/Rate/reverbTime))
	}
	return &q
}

func (q *room) add(mix, send []float32) {
	for i, x := range send {
		var v [4]float32
		for k := range v {
			v[k] = q.damp[k].next(q.line[k][q.at[k]]) * q.decay[k]
		}
		mix[i] += (v[0] - v[1] + v[2] - v[3]) * 0.7
		a, b, c, d := v[0]+v[1], v[0]-v[1], v[2]+v[3], v[2]-v[3]
		out := [4]float32{(a + c) / 2, (b + d) / 2, (a - c) / 2, (b - d) / 2}
		for k := range out {
			q.line[k][q.at[k]] = out[k] + x
			if q.at[k]++; q.at[k] == len(q.line[k]) {
				q.at[k] = 0
			}
		}
	}
}

// bed is what never stops: the hall's air, wind, the machine's wheels.
type bed struct {
	t            *Track
	r            *rand.Rand
	hiss, rumble onePole
	wind, gust   onePole
	wheel        onePole
	turn         float64
	machine      float32
}

func newBed(t *Track) *bed {
	return &bed{
		t: t, r: rand.New(rand.NewPCG(t.Seed, 77)),
		hiss: lowPass(2600), rumble: lowPass(110), wind: lowPass(140), gust: lowPass(0.35), wheel: lowPass(900),
		machine: float32(near / max(near, t.At.Sub(t.Ear).Len())),
	}
}

func (b *bed) add(mix, send []float32, at int) {
	hall := float32(0.0012 + 0.05*b.t.Hall*b.t.Hall)
	wind := float32(b.t.Wind)
	for i := range mix {
		w := float32(2*b.r.Float64() - 1)
		mix[i] += hall * (b.hiss.next(w)*0.35 + b.rumble.next(w)*6)
		if wind > 0 {
			v := float32(2*b.r.Float64() - 1)
			g := b.gust.next(v) * 160
			mix[i] += wind * b.wind.next(v) * min(3, 0.25+g*g) * 1.6
		}
	}
	for _, s := range b.t.Machine {
		from, to := int(s.From*Rate)-at, int(s.To*Rate)-at
		for i := max(0, from); i < min(len(mix), to); i++ {
			edge := min(float64(i-from)/Rate/1.5, float64(to-i)/Rate/1.5, 1)
			second := float64(at+i) / Rate
			b.turn += 2 * math.Pi * (58 + 1.5*math.Sin(second*1.9)) * (0.4 + 0.6*edge) / Rate
			hum := float32(math.Sin(b.turn) + 0.6*math.Sin(2*b.turn) + 0.35*math.Sin(5*b.turn))
			n := b.wheel.next(float32(2*b.r.Float64() - 1))
			v := b.machine * float32(edge) * (0.012*hum + 0.05*n)
			mix[i] += v
			send[i] += v * 0.3
		}
	}
}
