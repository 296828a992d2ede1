package split

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// filmed is a picture of ground and of somebody who stands body pixels to the right, the
// camera moved by a sway since it was at rest.
func filmed(e *eye, moved sway, body, light float64, noise *rand.Rand) []float32 {
	out := make([]float32, e.width*e.height)
	for y := range e.height {
		for x := range e.width {
			u, v := float64(x)-float64(e.width)/2, float64(y)-float64(e.height)/2
			dx, dy := moved.at(u, v)
			u, v = u-dx, v-dy
			g := 110 + light + 30*math.Sin(u/9+math.Sin(v/13)) + 25*math.Sin(v/7+u/31)
			if b := u - body; math.Abs(b) < 14 && math.Abs(v) < 30 {
				g = 90 + light + 60*math.Sin(b/3)*math.Cos(v/4)
			}
			out[y*e.width+x] = float32(g + noise.NormFloat64())
		}
	}
	return out
}

// take takes the next picture.
func (p *plane) take(picture []float32) { p.next(func(i int) float32 { return picture[i] }) }

// TestSwayIsThatOfTheCamera turns, widens and shifts the picture, in which somebody walks
// and the light changes. The truth is the motion that the pictures were drawn with.
func TestSwayIsThatOfTheCamera(t *testing.T) {
	e := newEye(1280, 720)
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, most float64) float64 { return rapid.Float64Range(-most, most).Draw(t, name) }
		turn, wider := draw("turn, in radians", 0.02), draw("wider", 0.01)
		moved := sway{dx: draw("dx", 5), dy: draw("dy", 5), xx: wider, xy: -turn, yx: turn, yy: wider}
		noise := rand.New(rand.NewPCG(4, 2))
		s := &steady{plane: newPlane(e.width, e.height)}
		s.take(filmed(e, sway{}, -6, 0, noise))
		s.take(filmed(e, moved, 6, draw("light", 15), noise))
		found := s.sway(sway{dx: math.Round(moved.dx), dy: math.Round(moved.dy)})
		off := sway{found.dx - moved.dx, found.dy - moved.dy, found.xx - moved.xx, found.xy - moved.xy, found.yx - moved.yx, found.yy - moved.yy}
		assert.Less(t, off.most(e.width, e.height), 0.35, "pixels at a corner: a turn of less may not be worth taking off")
	})
}

func TestACameraThatStandsHasNoSway(t *testing.T) {
	e := newEye(1280, 720)
	s, noise := &steady{plane: newPlane(e.width, e.height)}, rand.New(rand.NewPCG(1, 3))
	s.take(filmed(e, sway{}, -6, 0, noise))
	s.take(filmed(e, sway{}, 6, 3, noise))
	assert.Equal(t, sway{}, s.sway(sway{}), "though somebody moves")

	black := make([]float32, e.width*e.height)
	s.take(black)
	s.take(black)
	assert.Equal(t, sway{}, s.sway(sway{}), "a black picture tells nothing")
}

// TestEyeTakesTurnsOff turns the camera: only who walks has moved.
func TestEyeTakesTurnsOff(t *testing.T) {
	e, noise := newEye(1280, 720), rand.New(rand.NewPCG(7, 7))
	bytes := func(picture []float32) []byte {
		out := make([]byte, len(picture))
		for i, v := range picture {
			out[i] = byte(min(max(v, 0), 255))
		}
		return out
	}
	turned := sway{dx: 2.4, dy: -1.3, xy: -0.015, yx: 0.015}
	cells := changed(t, e, bytes(filmed(e, sway{}, -8, 0, noise)), bytes(filmed(e, turned, 8, 0, noise)))
	seen, elsewhere := 0, 0
	for c, v := range cells {
		switch x, y := c%e.across, c/e.across; {
		case x == 0 || y == 0 || x == e.across-1 || y == e.down-1: // what came into the picture
		case math.Abs(float64(x)-7.5) < 2 && math.Abs(float64(y)-4) <= 2:
			if v > eyeUnit {
				seen++
			}
		case v > eyeUnit:
			elsewhere++
		}
	}
	assert.GreaterOrEqual(t, seen, 10, "cells in which somebody walks")
	assert.LessOrEqual(t, elsewhere, 3, "cells of the ground")
}
