package align

import (
	"math"
	"slices"

	"netreel/media"
)

// bright is the line along which the windows agree best.
type bright struct {
	offset float64 // s by which A lies later than guessed, in the middle of the overlap
	slope  float64 // what is to be added to the guess's rate
	sum    float64 // of the windows' curves along it
	second float64 // the same for the best line that lies elsewhere
	bright float64 // the sum in standard deviations of what noise comes to
}

const (
	curveCap = 8
	grain    = 4                      // samples of a step of the search: half a millisecond
	steps    = 2*reach/grain + 1      // of offset
	apart    = 0.008                  // s from which a line lies elsewhere
	perStep  = float64(grain) / rate  // s
	zeroStep = float64(reach) / grain // the guess
)

// stack compares the windows and lays their curves over each other along
// every line that two clocks could make. Noise averages out; what both hear adds up.
func (t *trial) stack(p *phat) {
	t.windows = slices.DeleteFunc(t.windows, func(w pair) bool { return quiet(w.a.samples) || quiet(w.b.samples) })
	t.compare(p)
	if len(t.windows) == 0 {
		return
	}
	middle, half := t.middle(), (t.end-t.start)/2
	// A short overlap tells no rate beforehand, a long one does within the
	// coarse search's own error.
	widest := min(fastest, 0.04/half)
	stride := perStep / half
	n := int(math.Ceil(widest / stride))
	best, sums := make([]float64, steps), make([]float64, steps)
	top := math.Inf(-1)
	for k := -n; k <= n; k++ {
		slope := float64(k) * stride
		for i := range sums {
			sums[i] = 0
		}
		for _, w := range t.windows {
			addShifted(sums, w.say, w.thin, int(math.Round(slope*(w.at-middle)/perStep)))
		}
		for i, v := range sums {
			best[i] = max(best[i], v)
			if v > top {
				top, t.found.offset, t.found.slope = v, (float64(i)-zeroStep)*perStep, slope
			}
		}
	}
	var squares float64
	for _, w := range t.windows {
		squares += w.say * w.say
	}
	t.found.sum, t.found.bright = top, top/math.Sqrt(squares+1e-12)
	for i, v := range best {
		if math.Abs((float64(i)-zeroStep)*perStep-t.found.offset) > apart {
			t.found.second = max(t.found.second, v)
		}
	}
}

// compare makes the windows' curves.
func (t *trial) compare(p *phat) {
	a, b := make([][]complex64, len(t.windows)), make([][]complex64, len(t.windows))
	for i, w := range t.windows {
		a[i], b[i] = p.spectrum(w.a.samples), p.spectrum(w.b.samples)
	}
	alwaysA, alwaysB := always(a), always(b)
	for i := range t.windows {
		w := &t.windows[i]
		w.curve = p.compare(a[i], b[i], alwaysA, alwaysB)
		standard(w.curve, curveCap)
		w.thin = thin(w.curve)
	}
}

func (t *trial) middle() float64 { return (t.start + t.end) / 2 }

// thin takes the highest of each step's samples.
func thin(curve []float32) []float32 {
	out := make([]float32, steps)
	for i := range out {
		from, to := max(0, i*grain-grain/2), min(len(curve), i*grain+grain/2+1)
		out[i] = slices.Max(curve[from:to])
	}
	standard(out, curveCap)
	return out
}

func addShifted(sums []float64, say float64, curve []float32, by int) {
	for i := max(0, -by); i < min(len(sums), len(curve)-by); i++ {
		sums[i] += say * float64(curve[i+by])
	}
}

// point is what one window says: by how many seconds A lies later than
// guessed, and how clearly.
type point struct{ at, off, weight float64 }

// points reads, in each window, the peak that lies near the line.
func (t *trial) points(within float64) []point {
	const clear = 3.5
	var found []point
	for _, w := range t.windows {
		expected := (t.found.offset+t.found.slope*(w.at-t.middle()))*rate + reach
		from := max(0, int(expected-within*rate))
		to := min(len(w.curve), int(expected+within*rate)+1)
		if from >= to {
			continue
		}
		peak := from
		for i := from; i < to; i++ {
			if w.curve[i] > w.curve[peak] {
				peak = i
			}
		}
		if w.curve[peak] > clear {
			found = append(found, point{w.at - t.middle(), (float64(peak) - reach) / rate, w.say * float64(w.curve[peak])})
		}
	}
	return found
}

// match turns the brightest line into a match; rival is the sum of the
// best line of another guess, over an overlap as long.
func (t *trial) match(rival float64) Match {
	m := Match{Overlap: t.end - t.start, At: media.FromSeconds(t.middle())}
	f := fit(t.points(0.004), t.found, t.guess.rate)
	m.Windows, m.OffsetErr, m.RateErr = f.count, f.offsetErr, f.slopeErr*1e6
	// a = guess.lag + b(1+guess.rate) + offset + slope(b - middle)
	whole := line{
		lag:  t.guess.lag + f.offset - f.slope*t.middle(),
		rate: t.guess.rate + f.slope,
	}
	m.Clock = media.Clock{Offset: media.FromSeconds(whole.lag), RatePPM: ppm(whole.rate)}
	m.Confidence, m.Why = t.certainty(f, rival)
	return m
}
