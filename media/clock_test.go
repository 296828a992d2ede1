package media

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// Clocks are affine maps: they compose, and the inverse leads back.
func TestClockAlgebra(t *testing.T) {
	t.Parallel()
	clock := rapid.Custom(func(t *rapid.T) Clock {
		return Clock{
			Offset:  Micros(rapid.Int64Range(-1e10, 1e10).Draw(t, "offset")),
			RatePPM: rapid.Float64Range(-300, 300).Draw(t, "rate"),
		}
	})
	rapid.Check(t, func(t *rapid.T) {
		a, b := clock.Draw(t, "a"), clock.Draw(t, "b")
		own := Micros(rapid.Int64Range(-1e10, 1e10).Draw(t, "own"))
		assert.InDelta(t, int64(b.ToSession(a.ToSession(own))), int64(a.Then(b).ToSession(own)), 2)
		assert.InDelta(t, int64(own), int64(a.Inverse().ToSession(a.ToSession(own))), 2)
		assert.InDelta(t, int64(own), int64(a.ToRecording(a.ToSession(own))), 1)
		assert.Equal(t, a, a.Then(Clock{}))
		assert.InDelta(t, 0, a.Then(a.Inverse()).RatePPM, 1e-9)
	})
}
