package split

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestAffordable: what is looked at goes with the doubts and, where there is
// sound to go by, not with the length; and nothing jumps at any length.
func TestAffordable(t *testing.T) {
	windows := func(minutes, doubts float64, heedless bool) int {
		return (&session{seconds: 60 * minutes, doubts: doubts, heedless: heedless}).affordable()
	}
	free := windows(10, 0, false)
	for _, doubts := range []float64{0, 10, 1000} {
		assert.Equal(t, free, windows(1, doubts, false))
		assert.Equal(t, free, windows(10, doubts, true))
		assert.Equal(t, windows(120, doubts, false), windows(480, doubts, false), "flat in length")
		assert.LessOrEqual(t, windows(480, doubts, false), free)
	}
	assert.Equal(t, sureWanted+emptyWanted, windows(480, 0, false), "a sample to learn from")
	assert.Equal(t, sureWanted+emptyWanted+10, windows(480, 10, false), "and one for each ball in doubt")
	for _, heedless := range []bool{false, true} {
		last := windows(1, 5, heedless)
		for minutes := 1.1; minutes < 60; minutes += 0.1 {
			now := windows(minutes, 5, heedless)
			assert.InDelta(t, last, now, 2, "at %.1f minutes", minutes)
			last = now
		}
	}
	assert.LessOrEqual(t, float64(windows(480, 0, true))*(viewBefore+viewAfter), mostShare*480*60, "never all pictures")

	s := &session{seconds: 3600, views: views{{from: 0, to: 30}, {from: 40, to: 60}}}
	assert.Zero(t, s.affordable(), "what has been seen is paid for")
}

// TestExpectedErrors counts each ball once: what lies about one moment is one.
func TestExpectedErrors(t *testing.T) {
	s := &session{moments: []moment{
		{at: 10, p: 0.9, here: 0.9, chosen: true}, {at: 10.3, p: 0.05, here: 0.9},
		{at: 20, p: 0.3, here: 0.3}, {at: 30, p: 0.1, here: 0.1}, {at: 40, p: 1, here: 1, chosen: true},
	}}
	assert.InDelta(t, 0.1+0.3, s.expectedErrors(), 1e-9)
}
