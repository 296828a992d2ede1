package align

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/fault"
)

// everywhereAlike is a hall so small that every camera is as far from everything.
var everywhereAlike = [4]float64{6, 6, 6, 0}

func find(t *testing.T, a, b Sound, d Distances) Match {
	t.Helper()
	m, err := Find(t.Context(), a, b, d)
	require.NoError(t, err)
	return m
}

// Two minutes of overlap: the offset within 10 ms, the drift within 20 ppm.
func TestPairs(t *testing.T) {
	t.Parallel()
	usual := hallSpec{seconds: 200, gap: 7, talk: true, ambience: 0.0005}
	early := camera{start: 50, seconds: 140, noise: 0.01}
	late := camera{start: 10, seconds: 160, noise: 0.02, ppm: -100, gain: -0.1}
	type change func(h *hallSpec, a, b *camera)
	for name, change := range map[string]change{
		"B begins before A":               func(*hallSpec, *camera, *camera) {},
		"B begins after A":                func(_ *hallSpec, a, b *camera) { *a, *b = *b, *a },
		"one is much longer":              func(h *hallSpec, _, b *camera) { h.seconds, b.start, b.seconds = 700, 0, 690 },
		"no drift":                        func(_ *hallSpec, _, b *camera) { b.ppm = 0 },
		"both drift":                      func(_ *hallSpec, a, _ *camera) { a.ppm = 40 },
		"a dull microphone":               func(_ *hallSpec, _, b *camera) { b.high = 1000 },
		"hardly a band in common":         func(_ *hallSpec, a, b *camera) { a.low, b.high = 1200, 1200 },
		"noise as loud as the talk":       func(_ *hallSpec, a, b *camera) { a.noise, b.noise = 0.06, 0.06 },
		"a neighbour net that one hears":  func(h *hallSpec, _, b *camera) { h.neighbour, b.metres[nextNet] = 0.6, -1 },
		"a machine that clacks":           func(h *hallSpec, _, _ *camera) { h.clack, h.gap = 6.25, 9 },
		"a machine that hums beside each": func(_ *hallSpec, a, b *camera) { a.hum, b.hum = 0.2, 0.1 },
		"clipped and with an echo":        func(_ *hallSpec, a, b *camera) { a.clip, a.echo, b.echo = true, 0.7, 0.5 },
		"no talk, few balls":              func(h *hallSpec, _, _ *camera) { h.talk, h.gap = false, 14 },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			spec, a, b := usual, early, late
			a.metres, b.metres, a.seed, b.seed = everywhereAlike, everywhereAlike, 1, 2
			change(&spec, &a, &b)
			h := newHall(uint64(len(name)), spec)
			m := find(t, h.hear(a), h.hear(b), Distances{})
			offset, rate := truth(a, b)
			require.False(t, m.Refused(), "%+v", m)
			assert.GreaterOrEqual(t, m.Overlap, 110.0)
			assert.InDelta(t, offset, m.Clock.Offset.Seconds(), 0.010)
			assert.InDelta(t, rate, m.Clock.RatePPM, 20)
		})
	}
}

// With cameras at both ends, the typed distances take the sound's travel off.
// 20 m make 58.3 ms at 343 m/s.
func TestDistancesTakeTheTravelOff(t *testing.T) {
	t.Parallel()
	assert.InDelta(t, 0.0583, Late(20), 0.00005)
	h := newHall(5, hallSpec{seconds: 200, gap: 7, talk: true})
	side := camera{start: 50, seconds: 140, noise: 0.01, seed: 1, metres: [4]float64{8, 14, 12, 0}}
	behind := camera{start: 10, seconds: 160, noise: 0.02, seed: 2, metres: [4]float64{22, 2, 17, 0}}
	offset, _ := truth(side, behind)
	m := find(t, h.hear(side), h.hear(behind), Distances{A: 8, B: 22})
	assert.InDelta(t, offset, m.Clock.Offset.Seconds(), 0.010)
	_, err := Find(t.Context(), take{}, take{}, Distances{A: -1})
	assert.Equal(t, fault.Invalid, fault.KindOf(err))
	_, err = Find(t.Context(), take{}, take{}, Distances{B: math.NaN()})
	assert.Equal(t, fault.Invalid, fault.KindOf(err))
}

func TestRefusals(t *testing.T) {
	t.Parallel()
	usual := hallSpec{seconds: 200, gap: 7, talk: true}
	mic := camera{seconds: 190, noise: 0.01, metres: everywhereAlike, seed: 1}
	here := newHall(1, usual).hear(mic)
	mic.seed = 2
	elsewhere := newHall(2, usual).hear(mic)
	clacks := newHall(3, hallSpec{seconds: 200, clack: 1.25})
	early, late := mic, mic
	early.seconds, early.seed, late.start, late.seconds = 120, 7, 40, 120
	slow := newHall(4, hallSpec{seconds: 200, clack: 9})
	hum := make(take, len(here))
	for i := range hum {
		hum[i] = float32(0.2 * math.Sin(2*math.Pi*440*float64(i)/rate))
	}
	for name, c := range map[string]struct{ a, b take }{
		"unrelated":             {here, elsewhere},
		"silent":                {here, make(take, len(here))},
		"silent first":          {make(take, len(here)), here},
		"both silent":           {make(take, 20*rate), make(take, 20*rate)},
		"empty":                 {here, nil},
		"too short":             {here, here[50*rate : 53*rate]},
		"hardly an overlap":     {here[:60*rate], here[58*rate:]},
		"only a machine":        {clacks.hear(early), clacks.hear(late)},
		"a slow machine":        {slow.hear(early), slow.hear(late)},
		"a tone":                {hum, hum[3*rate:]},
		"noise and a recording": {here, noise(4, 100)},
		"two noises":            {noise(5, 100), noise(6, 100)},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			m := find(t, c.a, c.b, Distances{})
			assert.True(t, m.Refused(), "%+v", m)
			assert.NotEmpty(t, m.Why)
		})
	}
}

func noise(seed uint64, seconds int) take {
	r := rand.New(rand.NewPCG(seed, 1))
	out := make(take, seconds*rate)
	for i := range out {
		out[i] = float32(0.1 * r.NormFloat64())
	}
	return out
}

// White noise shifted by k samples gives k exactly: the property by which
// Knapp and Carter's phase transform is commonly checked.
func TestShiftedNoise(t *testing.T) {
	t.Parallel()
	const short, reach = 1024, 400
	for _, k := range []int{0, 1, 5, 137, -1, -20, -399} {
		for _, polarity := range []float32{1, -1} {
			r := rand.New(rand.NewPCG(9, uint64(k+1000)))
			a := make([]float32, short+2*reach)
			for i := range a {
				a[i] = float32(r.NormFloat64())
			}
			b := slices.Clone(a[reach+k : reach+k+short])
			for i := range b {
				b[i] *= polarity
			}
			p := newPhat(short, reach)
			specA, specB := p.spectrum(a), p.spectrum(b)
			nothing := make([]float32, len(specA))
			curve := p.compare(specA, specB, nothing, nothing)
			assert.Equal(t, k, slices.Index(curve, slices.Max(curve))-reach)
		}
	}
	whole := noise(1, 90)
	m := find(t, whole, whole[rate*20+3:rate*80], Distances{})
	require.False(t, m.Refused(), m.Why)
	assert.InDelta(t, 20+3.0/rate, m.Clock.Offset.Seconds(), 0.0005)
}

// The phase transform's known trap: noise that both have in common at the
// same time of both files draws the peak to zero.
func TestCommonNoiseIsNoMatch(t *testing.T) {
	t.Parallel()
	h := newHall(8, hallSpec{seconds: 300, gap: 6, talk: true})
	a := h.hear(camera{start: 20, seconds: 200, metres: everywhereAlike, seed: 1})
	b := h.hear(camera{start: 80, seconds: 200, metres: everywhereAlike, seed: 2})
	common := noise(3, 200)
	for i := range a {
		a[i] += 0.2 * common[i]
		b[i] += 0.2 * common[i]
	}
	m := find(t, a, b, Distances{})
	require.False(t, m.Refused(), m.Why)
	assert.InDelta(t, 60, m.Clock.Offset.Seconds(), 0.010)
}

// The clock found from B is the inverse of the one found from A.
func TestEitherWayRound(t *testing.T) {
	t.Parallel()
	h := newHall(21, hallSpec{seconds: 300, gap: 6, talk: true})
	a := h.hear(camera{start: 20, seconds: 200, metres: everywhereAlike, noise: 0.01, seed: 1})
	b := h.hear(camera{start: 90, seconds: 150, metres: everywhereAlike, noise: 0.02, seed: 2, ppm: 80})
	m, back := find(t, a, b, Distances{A: 3, B: 11}), find(t, b, a, Distances{A: 11, B: 3})
	there := m.Clock.Then(back.Clock)
	for _, own := range []media.Micros{0, 60 * media.Second, 120 * media.Second} {
		assert.InDelta(t, own.Seconds(), there.ToSession(own).Seconds(), 0.002)
	}
}

// Of invented pairs that nobody has looked at, from easy to hopeless, those
// that are believed are right, about as often as is said.
func TestConfidenceIsCalibrated(t *testing.T) {
	t.Parallel()
	var said, right, believed, wrong float64
	for seed := uint64(9000); seed < 9018; seed++ {
		a, b, offset, _, _, related := hearBoth(seed, true)
		m := find(t, a, b, Distances{})
		if m.Refused() {
			continue
		}
		believed++
		said += m.Confidence
		if related && math.Abs(m.Clock.Offset.Seconds()-offset) < 0.010 {
			right++
		} else {
			wrong++
			t.Logf("seed %d: %+v, true offset %.3f, related %v", seed, m, offset, related)
		}
	}
	require.Greater(t, believed, 6.0)
	assert.InDelta(t, said/believed, right/believed, 0.12)
	assert.LessOrEqual(t, wrong, 1.0)
}

func TestSoundsErrorIsHandedOn(t *testing.T) {
	t.Parallel()
	broken := errors.New("torn")
	_, err := Find(t.Context(), torn{broken}, noise(1, 10), Distances{})
	require.ErrorIs(t, err, broken)
	_, err = Find(t.Context(), noise(1, 10), torn{broken}, Distances{})
	require.ErrorIs(t, err, broken)
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = Find(gone, noise(1, 10), noise(2, 10), Distances{})
	require.ErrorIs(t, err, context.Canceled)
}

type torn struct{ err error }

func (t torn) Sound(context.Context, int, func([]float32) error) error { return t.err }
