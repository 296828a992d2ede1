package split

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// hiss is steady noise of a level in dB below full scale.
func hiss(seconds, level float64) []float32 {
	r := rand.New(rand.NewPCG(3, 4))
	out := make([]float32, int(seconds*soundRate))
	for i := range out {
		out[i] = float32(r.NormFloat64() * dB(level))
	}
	return out
}

// click adds a short crack at a sample.
func click(sound []float32, at int, peak float64) {
	for i := range soundRate / 20 {
		s := float64(i) / soundRate
		v := math.Exp(-s/0.006) * (math.Sin(2*math.Pi*1200*s) + math.Sin(2*math.Pi*2900*s) + math.Sin(2*math.Pi*600*s)) / 3
		sound[at+i] += float32(peak * v)
	}
}

func listen(sound []float32) *ear {
	e := newEar(float64(len(sound)) / soundRate)
	e.hear(sound)
	e.end()
	return e
}

func TestEarTimesACrack(t *testing.T) {
	for _, level := range []float64{-20, -34} {
		sound := hiss(6, -60)
		var want []float64
		for k := 1; k < 6; k++ {
			at := k*soundRate + 37*k
			click(sound, at, dB(level))
			want = append(want, float64(at)/soundRate)
		}
		e := listen(sound)
		require.Len(t, e.onsets, len(want), "level %v", level)
		for i, o := range e.onsets {
			assert.InDelta(t, want[i], o.at, 0.002)
		}
	}
}

func TestEarHearsNothingInSteadyNoise(t *testing.T) {
	assert.Empty(t, listen(hiss(20, -40)).onsets)
	assert.Empty(t, listen(make([]float32, 20*soundRate)).onsets)
}

func TestEarSurvivesBrokenSamples(t *testing.T) {
	sound := hiss(4, -60)
	for i := range sound {
		switch {
		case i%977 == 0:
			sound[i] = float32(math.NaN())
		case i%1499 == 0:
			sound[i] = float32(math.Inf(1))
		}
	}
	for _, o := range listen(sound).onsets {
		for _, v := range crackClues(o) {
			assert.False(t, math.IsNaN(v) || math.IsInf(v, 0))
		}
	}
}

// TestCrackIsNotAVowelNorAThud sets a crack against what is most often taken
// for one.
func TestCrackIsNotAVowelNorAThud(t *testing.T) {
	odds := func(make func(sound []float32, at int)) float64 {
		sound := hiss(3, -60)
		make(sound, 3*soundRate/2)
		best := -20.0
		for _, o := range listen(sound).onsets {
			best = max(best, crackOdds(o))
		}
		return best
	}
	crack := odds(func(s []float32, at int) { click(s, at, 0.3) })
	vowel := odds(func(s []float32, at int) {
		for i := range soundRate / 4 {
			u := float64(i) / soundRate
			rise := math.Min(u/0.03, 1)
			for h := 1.0; h <= 12; h++ {
				s[at+i] += float32(0.1 * rise / h * math.Sin(2*math.Pi*140*h*u))
			}
		}
	})
	thud := odds(func(s []float32, at int) {
		for i := range soundRate / 5 {
			u := float64(i) / soundRate
			s[at+i] += float32(0.3 * math.Exp(-u/0.03) * math.Sin(2*math.Pi*110*u))
		}
	})
	assert.Greater(t, crack, vowel+3)
	assert.Greater(t, crack, thud+3)
}

// TestButterworth checks the filters against the definition: 3.01 dB down at
// the corner, 12 dB an octave beyond it (S. Butterworth 1930, for order 2).
func TestButterworth(t *testing.T) {
	gain := func(q biquad, f float64) float64 {
		var in, out float64
		for i := range 4 * soundRate {
			x := math.Sin(2 * math.Pi * f * float64(i) / soundRate)
			y := q.step(x)
			if i > soundRate {
				in, out = in+x*x, out+y*y
			}
		}
		return 10 * math.Log10(out/in)
	}
	assert.InDelta(t, -3.01, gain(butterworth(300, false), 300), 0.05)
	assert.InDelta(t, -3.01, gain(butterworth(1000, true), 1000), 0.05)
	assert.InDelta(t, -12.3, gain(butterworth(300, false), 600), 0.3)
	assert.InDelta(t, 0, gain(butterworth(300, true), 4000), 0.1)
}
