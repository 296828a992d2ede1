package split

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// thrown is the flight of a ball that is at (x, y) at t, goes vx and vy pixels a
// second and falls by g pixels a second squared, seen fifty times a second from
// late on for as long as given.
func thrown(t, x, y, vx, vy, g, late, long float64) arc {
	var f flights
	fl := flight{sign: 1, sure: true}
	for u := late; u <= late+long; u += 0.02 {
		fl.points = append(fl.points, flightPoint{t: t + u, x: x + vx*u, y: y + vy*u + g*u*u/2, mass: 300})
	}
	f.land(fl)
	return f.arcs[0]
}

// TestSourceOfWhatFalls has balls that go from (130, 60) in many directions,
// first seen a tenth of a second later, straight and falling.
func TestSourceOfWhatFalls(t *testing.T) {
	for _, g := range []float64{0, 200} {
		var all []arc
		for i := range 6 {
			turn := math.Pi * (0.75 + 0.5*float64(i)/6)
			all = append(all, thrown(10*float64(i+1), 130, 60, 160*math.Cos(turn), 160*math.Sin(turn), g, 0.1, 0.3))
		}
		from := (&session{}).findSource(all, nil)
		require.NotNil(t, from)
		assert.InDelta(t, 130, from.x, 3, "g %v", g)
		assert.InDelta(t, 60, from.y, 5, "g %v", g)
		require.Len(t, from.leaves, 6)
		for i, l := range from.leaves {
			assert.InDelta(t, 10*float64(i+1), l.at, 0.02, "ball %d, g %v", i, g)
		}
	}
}

// TestBounceIsNoTurn has balls that fall, bounce, go on, and are struck before
// they are seen again: contact is where both flights are level with each other.
func TestBounceIsNoTurn(t *testing.T) {
	var arcs []arc
	for i := range 6 {
		at := 10 * float64(i+1) // contact, at x = 150
		arcs = append(arcs,
			thrown(at-0.7, 45, 60, 150, 100, 0, 0, 0.4),
			thrown(at-0.26, 111, 100, 150, -110, 0, 0, 0.14),
			thrown(at, 150, 75, -140, 50+8*float64(i), 0, 0.12, 0.3))
	}
	s := &session{views: views{{from: 0, to: 70, width: 256, height: 144, grey: newAir(arcs)}}, seconds: 70}
	w := s.learnWay(nil)
	require.NotNil(t, w)
	require.Len(t, w.passes, 6)
	for i, p := range w.passes {
		assert.InDelta(t, 10*float64(i+1), p.at, 0.01, "ball %d", i)
		assert.True(t, p.turned)
		assert.False(t, p.onward)
	}
}
