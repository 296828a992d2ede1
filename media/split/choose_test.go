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
	}
	for _, doubts := range []float64{0, 10, 100} {
		assert.Equal(t, windows(120, doubts, false), windows(480, doubts, false), "flat in length")
	}
	assert.Equal(t, sureWanted+emptyWanted, windows(480, 0, false), "a sample to learn from")
	assert.Equal(t, sureWanted+emptyWanted+10*perDoubt, windows(480, 10, false), "and some for each ball in doubt")
	for _, heedless := range []bool{false, true} {
		last := windows(1, 5, heedless)
		for minutes := 1.1; minutes < 60; minutes += 0.1 {
			now := windows(minutes, 5, heedless)
			assert.InDelta(t, last, now, 2, "at %.1f minutes", minutes)
			last = now
		}
	}
	assert.LessOrEqual(t, float64(windows(480, 0, true))*(viewBefore+viewAfter), muteShare*480*60)
	for _, heedless := range []bool{false, true} {
		s := &session{seconds: 3600, doubts: 1e6, heedless: heedless}
		for i := range 10_000 { // all that is looked at shows a ball
			from := float64(i) * 5
			s.views = append(s.views, &view{from: from, to: from + 4})
			s.moments = append(s.moments, moment{at: from + 2, here: 1, chosen: true})
			if s.affordable() == 0 {
				break
			}
		}
		assert.LessOrEqual(t, float64(4*len(s.views)), mostShare*3600+8, "never all pictures")
	}

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

func TestVerdict(t *testing.T) {
	v := verdict{[]anchor{{at: 10, p: 0.9}, {at: 20, p: 0.8}}, 3}
	for name, c := range map[string]struct {
		other verdict
		same  bool
	}{
		"itself":          {v, true},
		"a little surer":  {verdict{[]anchor{{at: 10.05, p: 0.95}, {at: 20, p: 0.85}}, 2.8}, true},
		"much surer":      {verdict{v.balls, 2.2}, false},
		"a ball more":     {verdict{append([]anchor{{at: 5, p: 1}}, v.balls...), 3}, false},
		"a ball less":     {verdict{v.balls[:1], 3}, false},
		"another instead": {verdict{[]anchor{{at: 10, p: 0.9}, {at: 24, p: 0.8}}, 3}, false},
	} {
		assert.Equal(t, c.same, v.same(c.other, 0), name)
		assert.Equal(t, c.same, c.other.same(v, 0), name)
	}
	assert.True(t, v.same(verdict{v.balls[:1], 3.8}, 1), "as much as is allowed")
	assert.False(t, v.same(verdict{v.balls[:1], 4.2}, 1), "surer by more than is allowed")
	assert.False(t, v.same(verdict{nil, 3}, 1), "two balls less")
}
