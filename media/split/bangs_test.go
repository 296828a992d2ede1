package split_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/fault"
	"netreel/media/split"
)

// played is a sound source of samples at the rate that is asked for.
func played(t *testing.T, make func(rate int) []float32) func(context.Context, int, func([]float32) error) error {
	return func(_ context.Context, rate int, fn func([]float32) error) error {
		t.Helper()
		sound := make(rate)
		for at := 0; at < len(sound); at += 4096 {
			if err := fn(sound[at:min(at+4096, len(sound))]); err != nil {
				return err
			}
		}
		return nil
	}
}

// TestBangs claps four times over a tone that swells as a voice does, each clap
// louder than the one before, and asks for the three sharpest.
func TestBangs(t *testing.T) {
	t.Parallel()
	at := []float64{2.25, 4.5, 6.125, 8.75}
	sound := played(t, func(rate int) []float32 {
		out := make([]float32, 10*rate)
		for i := range out {
			s := float64(i) / float64(rate)
			noise := float64((i*7919)%1024)/1024 - 0.5
			out[i] = float32(0.001*noise + 0.02*(1+math.Sin(2*math.Pi*0.7*s))*math.Sin(2*math.Pi*180*s))
			for k, c := range at {
				if d := s - c; d >= 0 && d < 0.08 {
					out[i] += float32(0.1*math.Pow(2, float64(k))*math.Exp(-d/0.008)) * float32(math.Sin(2*math.Pi*1700*d)+2*noise)
				}
			}
		}
		return out
	})
	got, err := split.Bangs(t.Context(), sound, 10, 3)
	require.NoError(t, err)
	require.Len(t, got, 3, "the three sharpest: %v", got)
	for i, b := range got {
		assert.InDelta(t, at[i+1], b.At.Seconds(), 0.005)
		assert.Greater(t, b.Above, 12.0)
	}

	silent, err := split.Bangs(t.Context(), played(t, func(rate int) []float32 { return make([]float32, 3*rate) }), 3, 3)
	require.NoError(t, err)
	assert.Empty(t, silent)

	gone := fault.New(fault.Unsupported, "", "This recording has no sound.")
	_, err = split.Bangs(t.Context(), func(context.Context, int, func([]float32) error) error { return gone }, 3, 3)
	assert.Equal(t, fault.Unsupported, fault.KindOf(err))
}
