package split

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// met is a view in which a ball comes along x, 200 pixels a second, and is last seen at
// (80, 50) at 1 s. What goes back is first seen wait s later, away px from there.
func met(wait, away float64) (*way, *view, arc) {
	in := arc{from: flightPoint{t: 0.6, x: 0, y: 50, mass: 300}, to: flightPoint{t: 1, x: 80, y: 50, mass: 300}, vx: 200, endX: 200, points: 12, mass: 300}
	first := flightPoint{t: 1 + wait, x: 80 - away, y: 50, mass: 300}
	out := arc{from: first, to: flightPoint{t: first.t + 0.3, x: first.x - 60, y: 50, mass: 300}, vx: -200, endX: -200, points: 9, mass: 300}
	return &way{ux: 1, ax: 1, y: 50, meet: 88}, &view{from: 0, to: 5, width: 256, height: 144, grey: inAir([]arc{in, out})}, in
}

func TestABallComesForAsLongAsItIsSeenTo(t *testing.T) {
	w, v, in := met(0.1, -4)
	at, wait, ok := w.turns(v, in)
	assert.True(t, ok)
	assert.InDelta(t, 1.06, at, 1e-9, "24 pixels too far apart, at 400 a second towards each other")
	assert.InDelta(t, 0.1, wait, 1e-9)

	w, v, in = met(0.1, 28)
	at, _, ok = w.turns(v, in)
	assert.True(t, ok)
	assert.Equal(t, 1.0, at, "drawn back straight it would have turned before it was last seen to come")
}

func TestWhatGoesSoonestIsTheBall(t *testing.T) {
	w, v, in := met(0.1, -4)
	later := flightPoint{t: 1.5, x: 160, y: 50, mass: 300}
	back := arc{from: later, to: flightPoint{t: 2.2, x: 20, y: 50, mass: 300}, vx: -200, endX: -200, points: 20, mass: 300}
	v.grey = inAir(append(v.grey.arcs, back))
	at, _, ok := w.turns(v, in)
	assert.True(t, ok)
	assert.InDelta(t, 1.06, at, 1e-9, "not what comes back from the net, though it is followed for longer")
}

func TestBallsAreNotMetWhereMostFlyThrough(t *testing.T) {
	w, _, in := met(0.1, -4)
	short := in
	short.to.x = 40
	assert.True(t, w.through([]arc{in, in, short}, 50))
	assert.False(t, w.through([]arc{in, short, short}, 50))
	assert.False(t, w.through([]arc{in, in, short}, 70), "hardly beyond: it may be struck there")
}

func TestWhatWasLongUnseenIsMetWhereOthersAre(t *testing.T) {
	w := &way{ux: 1, ax: 1, meet: 88}
	p := pass{at: 1.04, turn: 1.1, came: arc{to: flightPoint{t: 1}}}
	soon, late := w.turnsBy(p, 0.02), w.turnsBy(p, 0.4)
	assert.InDelta(t, 1.02, soon, 1e-9, "no later than it was seen to go")
	assert.Less(t, late, 1.06, "rather by the place")
	assert.Greater(t, late, p.at)
	p.at = 0.9
	assert.Equal(t, 1.0, w.turnsBy(p, 0.4), "no sooner than it was last seen to come")
	w.climbs = true
	assert.Equal(t, p.turn, w.turnsBy(p, 0.4))
}

// TestNotMetWhileStillSeenToCome has a ball that comes from the left: seen to come until
// 1 s, however soon others are met. Of one that goes up the picture it can't be told.
func TestNotMetWhileStillSeenToCome(t *testing.T) {
	w, _, in := met(0.1, -4)
	assert.Equal(t, in.to.t, w.noSooner(0.8, in))
	assert.Equal(t, 1.2, w.noSooner(1.2, in))
	w.aim(0, -1)
	assert.Equal(t, 0.8, w.noSooner(0.8, in))
}

// TestNotMetWhereAllFlyOn has eight balls, all or most of which are seen to go on beyond
// where they are said to be met: left alone may be many, but not all.
func TestNotMetWhereAllFlyOn(t *testing.T) {
	w, _, in := met(0.1, -4)
	for i := range 8 {
		ball := in
		ball.to.x += float64(i)
		w.passes = append(w.passes, pass{came: ball, onward: true})
	}
	lost, ok := w.passedAll()
	assert.True(t, ok)
	assert.Equal(t, 84.0, lost, "where half of them are lost")
	w.passes[0].onward, w.passes[1].onward = false, false
	_, ok = w.passedAll()
	assert.False(t, ok)
	w.passes = w.passes[6:]
	_, ok = w.passedAll()
	assert.False(t, ok, "two tell nothing")
}

func TestSuchAShareOfTheWeightsLiesBelow(t *testing.T) {
	assert.Equal(t, 5.0, shareBy([]weighted{{5, 1}, {1, 1}, {3, 1}}, meetDeep))
	assert.Equal(t, 3.0, shareBy([]weighted{{5, 1}, {1, 1}, {3, 1}}, 0.5))
	assert.Equal(t, 5.0, shareBy([]weighted{{5, 4}, {1, 1}, {3, 1}}, 0.5))
	assert.Zero(t, shareBy(nil, 0.5))
}
