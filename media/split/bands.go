package split

import "math"

// The ear works at 16 kHz: a bat's crack has its energy well below 8 kHz, and
// telephones keep little more.
const (
	soundRate   = 16000
	frameLen    = 32 // samples in a frame: 2 ms, the grain of all envelopes
	framesPerS  = soundRate / frameLen
	quietestDB  = -84.0 // below this a microphone hears only itself
	silenceDB   = -100.0
	bandCount   = 4
	bandThud    = 0 // 80-300 Hz: a ball on the floor, feet, machines
	bandBody    = 1 // 300-1000 Hz: voices, the body of a bat's sound
	bandCrack   = 2 // 1-3 kHz
	bandBright  = 3 // above 3 kHz: lost with distance and dull microphones
	highBandsN  = 3 // body, crack, bright: the bands a crack shows in
	floorQuant  = 0.35
	floorStepDB = 0.02
)

var bandEdges = [bandCount][2]float64{{80, 300}, {300, 1000}, {1000, 3000}, {3000, 0}}

// biquad is one second-order filter section in transposed direct form II.
type biquad struct{ b0, b1, b2, a1, a2, z1, z2 float64 }

// butterworth makes a second-order low- or high-pass at fc Hz (bilinear
// transform with Q = 1/sqrt 2; the formulas are those of R. Bristow-Johnson's
// "Audio EQ Cookbook", published as a W3C note).
func butterworth(fc float64, high bool) biquad {
	w := 2 * math.Pi * fc / soundRate
	cos, alpha := math.Cos(w), math.Sin(w)/math.Sqrt2
	a0 := 1 + alpha
	q := biquad{a1: -2 * cos / a0, a2: (1 - alpha) / a0}
	if high {
		q.b0 = (1 + cos) / 2 / a0
		q.b1 = -(1 + cos) / a0
	} else {
		q.b0 = (1 - cos) / 2 / a0
		q.b1 = (1 - cos) / a0
	}
	q.b2 = q.b0
	return q
}

func (q *biquad) step(x float64) float64 {
	y := q.b0*x + q.z1
	q.z1 = q.b1*x - q.a1*y + q.z2
	q.z2 = q.b2*x - q.a2*y
	return y
}

// frame is 2 ms of sound: the level of each band in dB below full scale.
type frame [bandCount]float32

// high is the mean level of the bands that a crack shows in.
func (f frame) high() float64 {
	return float64(f[bandBody]+f[bandCrack]+f[bandBright]) / highBandsN
}

// bands turns samples into frames.
type bands struct {
	high, low [bandCount]biquad
	sum       [bandCount]float64
	prev      [bandCount]float64 // smoothed power of the slow bands
	n         int
}

func newBands() *bands {
	var b bands
	for i, e := range bandEdges {
		b.high[i] = butterworth(e[0], true)
		if e[1] > 0 {
			b.low[i] = butterworth(e[1], false)
		}
	}
	return &b
}

// add takes one sample and reports a frame when one is complete.
func (b *bands) add(x float64) (frame, bool) {
	for i := range bandCount {
		y := b.high[i].step(x)
		if i != bandBright {
			y = b.low[i].step(y)
		}
		b.sum[i] += y * y
	}
	if b.n++; b.n < frameLen {
		return frame{}, false
	}
	b.n = 0
	var f frame
	for i := range bandCount {
		power := b.sum[i] / frameLen
		b.sum[i] = 0
		// A period of the lowest bands is longer than a frame: without
		// smoothing their level would ripple with the wave itself.
		switch i {
		case bandThud:
			b.prev[i] += 0.3 * (power - b.prev[i])
			power = b.prev[i]
		case bandBody:
			b.prev[i] += 0.6 * (power - b.prev[i])
			power = b.prev[i]
		}
		f[i] = float32(decibels(power))
	}
	return f, true
}

// decibels of a power, never below silenceDB.
func decibels(power float64) float64 {
	if !(power > 1e-10) {
		return silenceDB
	}
	return 10 * math.Log10(power)
}

// floor follows the level of the background in each band: a running low
// quantile, so that cracks, talk and gaps hardly move it.
type floor struct {
	level frame
	n     int
}

func (f *floor) add(x frame) {
	step := float32(floorStepDB)
	if f.n == 0 {
		f.level = x
	}
	if f.n < 2*framesPerS { // settle fast at the beginning
		step *= 10
	}
	f.n++
	for i := range f.level {
		if x[i] > f.level[i] {
			f.level[i] += step * floorQuant
		} else {
			f.level[i] -= step * (1 - floorQuant)
		}
		f.level[i] = max(f.level[i], quietestDB)
	}
}
