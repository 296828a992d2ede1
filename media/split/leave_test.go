package split

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// struck draws flights of balls that come along x and are met at (100, 50),
// contact at 10, 20, 30 ... s, and go in as many directions; the flight that
// goes is first seen away from the bat, and falls where bent is not 0.
func struck(balls int, turned bool, bent float64) (*way, []pass) {
	random := rand.New(rand.NewPCG(4, 2))
	w := &way{ux: 1, ax: 1, x: 0, y: 50}
	passes := make([]pass, balls)
	for i := range passes {
		contact := 10 * float64(i+1)
		came := arc{
			from: flightPoint{t: contact - 0.5, x: 0, y: 50}, to: flightPoint{t: contact - 0.1, x: 80, y: 50},
			vx: 200, endX: 200, points: 12, mass: 300,
		}
		turn := math.Pi * (0.6 + 0.8*float64(i)/float64(balls))
		wait := 0.1 + 0.25*random.Float64()
		// What falls was flown faster at first than where it is seen.
		vx, vy, early := 150*math.Cos(turn), 150*math.Sin(turn), wait*(1-bent)
		gone := &arc{vx: vx, vy: vy, points: 10, mass: 300, from: flightPoint{t: contact + early, x: 100 + vx*wait, y: 50 + vy*wait}}
		passes[i] = pass{at: contact + 0.2, came: came, gone: gone}
		if turned {
			p := &passes[i]
			p.at, p.turn, p.turned = contact+0.01*random.Float64(), contact+0.01*random.Float64(), true
		}
	}
	return w, passes
}

func TestContactIsWhereStruckBallsComeFrom(t *testing.T) {
	w, passes := struck(7, false, 0)
	w.converge(passes)
	for i, p := range passes {
		require.True(t, p.turned)
		assert.InDelta(t, 10*float64(i+1), p.at, 0.001, "ball %d", i)
	}
}

// TestContactIsWhereBallsTurn has balls that are seen to turn, and later to go
// on a way that is no longer that on which they left the bat.
func TestContactIsWhereBallsTurn(t *testing.T) {
	w, passes := struck(7, true, 0.4)
	w.converge(passes)
	for i, p := range passes {
		assert.InDelta(t, 10*float64(i+1), p.at, 0.011, "ball %d", i)
	}
}

// TestWhatComesBackWasNotStruck has one ball that comes back from the net behind
// the batter.
func TestWhatComesBackWasNotStruck(t *testing.T) {
	w, passes := struck(7, false, 0)
	w.converge(passes)
	passes[3].turned = false
	passes[3].gone = &arc{from: flightPoint{t: 40.2, x: 160, y: 50}, vx: -100, points: 10, mass: 300}
	w.converge(passes)
	assert.False(t, passes[3].turned)
	assert.Nil(t, passes[3].gone)
	assert.True(t, passes[4].turned)
}

// TestFlightsThatGoFromTheCamera has a ball that is slow in the picture, as it is
// from behind the arm, and a spot that trembles.
func TestFlightsThatGoFromTheCamera(t *testing.T) {
	for _, test := range []struct {
		name     string
		rate, dy float64 // pictures a second, pixels a picture
		followed bool
	}{
		{"slow, 30 pictures a second", 30, 2.1, true},
		{"the same ball, 60 pictures a second", 60, 1.05, false},
		{"fast, 60 pictures a second", 60, 2.1, true},
		{"a person", 30, 1.2, false},
	} {
		t.Run(test.name, func(t *testing.T) {
			var f flights
			for i := range 24 {
				f.follow(float64(i)/test.rate, i, []spot{{x: 100, y: 90 - float64(i)*test.dy, mass: 300, sign: 1}}, func(*flight, int) {})
			}
			assert.Equal(t, test.followed, len(f.finish()) > 0)
		})
	}
}
