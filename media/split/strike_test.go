package split

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// passedAt is a session of two balls, at 10 and 20 s, of which the first was taken to have
// passed, with bats heard at times, each as like one as odds say.
func passedAt(odds map[float64]float64) *session {
	s := &session{heard: &ear{loudest: 1}, seconds: 100, moments: []moment{
		{at: 10, onset: -1, chosen: true, p: 0.9, here: 0.9},
		{at: 20, onset: 1, chosen: true, struck: true, p: 0.9, here: 0.9},
	}}
	for tenth := range 1000 {
		if odd, ok := odds[float64(tenth)/10]; ok {
			s.onsets, s.first = append(s.onsets, onset{at: float64(tenth) / 10}), append(s.first, odd)
		}
	}
	return s
}

func TestBatHeardBesideAPassing(t *testing.T) {
	s := passedAt(map[float64]float64{10.4: -2, 20: 3})
	s.strike()
	assert.True(t, s.moments[0].struck, "a bat is heard a little later and nowhere else")
	assert.Equal(t, 10.4, s.moments[0].at)
	assert.Equal(t, 0, s.moments[0].onset)
}

// TestFarBatBesideAPassing has bats that sound little like ones, as they do far from a dull
// microphone: of five balls one is heard. Where more are, so little is no bat.
func TestFarBatBesideAPassing(t *testing.T) {
	far := func(odds map[float64]float64) *moment {
		s := passedAt(odds)
		for _, at := range []float64{40, 50, 60} {
			s.moments = append(s.moments, moment{at: at, onset: -1, chosen: true, p: 0.9, here: 0.9})
		}
		s.strike()
		return &s.moments[0]
	}
	assert.True(t, far(map[float64]float64{10.2: -5, 20: 3, 30: -8}).struck)
	assert.False(t, far(map[float64]float64{10.4: -5, 20: 3}).struck, "late")
	assert.False(t, far(map[float64]float64{10.2: -5, 20: 3, 30: -4, 34: -4, 38: -4}).struck, "as others")
	s := passedAt(map[float64]float64{10.2: -5, 20: 3})
	s.strike()
	assert.False(t, s.moments[0].struck, "the other is heard well")
}

func TestSoundBesideAPassingThatIsNoBat(t *testing.T) {
	for name, odds := range map[string]map[float64]float64{
		"unlike a bat":      {10.4: -6, 20: 3},
		"too late":          {10.6: 2, 20: 3},
		"as good elsewhere": {10.4: -2, 20: 3, 30: -1, 34: -1, 38: -1, 42: -1, 46: -1, 50: -1, 54: -1, 58: -1, 62: -1, 66: -1, 70: -1, 74: -1},
	} {
		s := passedAt(odds)
		s.strike()
		assert.False(t, s.moments[0].struck, name)
		assert.Equal(t, 10.0, s.moments[0].at, name)
	}
}

// TestBounceBesideAPassing has something dull, and as like a bat, before the ball passes: that
// may be how it bounced.
func TestBounceBesideAPassing(t *testing.T) {
	for _, c := range []struct {
		at     float64
		dull   bool
		struck bool
	}{{9.7, true, false}, {9.7, false, true}, {10.3, true, true}} {
		s := passedAt(map[float64]float64{c.at: -2, 20: 3})
		if c.dull {
			s.onsets[0].lift[bandThud] = 20
		}
		s.strike()
		assert.Equal(t, c.struck, s.moments[0].struck, "%+v", c)
	}
}

func TestTurnDecidesWhatIsHardlyHeard(t *testing.T) {
	for name, c := range map[string]struct {
		turned bool
		heard  float64 // as likely as that, against 0.6, the ball was struck after all
		struck bool
	}{
		"turned, perhaps heard": {true, 0.2, true},
		"turned, not heard":     {true, 0.05, false},
		"not seen to turn":      {false, 0.2, false},
	} {
		s := passedAt(nil)
		s.moments[0].p = 0.6
		s.moments = append(s.moments[:1], moment{at: 10.05, struck: true, onset: -1, p: c.heard}, s.moments[1])
		s.way = &way{passes: []pass{{at: 10.1, turned: c.turned}}}
		s.strike()
		assert.Equal(t, c.struck, s.moments[0].struck, name)
	}
}

// TestBatNeitherLateNorBeforeTheBall has something like a bat that is heard when the ball has
// long gone past, or while it is still seen to come: the net it went to, or another's bat.
func TestBatNeitherLateNorBeforeTheBall(t *testing.T) {
	for name, c := range map[string]struct {
		heard    float64
		lastSeen float64 // to come
		struck   bool
	}{
		"soon after":             {10.2, 9.9, true},
		"at the net":             {10.4, 9.9, false},
		"while it came":          {9.7, 10.1, false},
		"shortly before":         {9.9, 10.1, true},
		"as it was lost":         {9.7, 9.6, true},
		"followed beyond":        {10.1, 10.5, true},
		"what came was not seen": {10.4, 0, true},
	} {
		s := passedAt(map[float64]float64{c.heard: -2, 20: 3})
		p := pass{at: 10.05}
		if c.lastSeen > 0 {
			p.came = arc{points: 9, to: flightPoint{t: c.lastSeen}}
		}
		s.way = &way{passes: []pass{p}}
		s.strike()
		assert.Equal(t, c.struck, s.moments[0].struck, name)
	}
}
