package split

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestTheShorterTheLater has balls of different length from behind and high above the arm,
// of which is only seen where they bounce: each is met about as long afterwards as is usual
// for its length.
func TestTheShorterTheLater(t *testing.T) {
	w, balls := bounced(0)
	w.fromGround()
	for i, d := range balls {
		assert.InDelta(t, d.at+d.contact(), w.passes[i].at, 0.08, "ball %d", i)
	}
}

// TestSlowBallsTakeLonger has slower balls, half of which are seen to rise: they tell that
// all take longer than is usual.
func TestSlowBallsTakeLonger(t *testing.T) {
	w, balls := bounced(-9)
	for i := 0; i < len(balls); i += 2 {
		w.passes[i].fell, w.passes[i].at = false, balls[i].at+balls[i].contact()
	}
	w.fromGround()
	for i, d := range balls {
		assert.InDelta(t, d.at+d.contact(), w.passes[i].at, 0.06, "ball %d", i)
	}
}

// TestSoonFromTheHand has balls of which is only seen that they fall from the hand to where
// they bounce: the sooner, the shorter they were pitched, and the longer they take from there,
// unless it is so late that they are spin.
func TestSoonFromTheHand(t *testing.T) {
	rests := func(fall float64) float64 {
		w := &way{}
		for i := range 3 {
			at := 10 * float64(i+1)
			w.passes = append(w.passes, pass{fell: true, first: flightPoint{t: at - fall}, ground: &ground{90, at}})
		}
		w.fromGround()
		return w.passes[1].at - 20
	}
	assert.InDelta(t, restUsual, rests(0.1), 1e-9, "they were bowled long before they were seen")
	// Balls of 17.7 m that lose a tenth on the bounce, of which so many metres come after it.
	for _, c := range []struct{ pace, after, off float64 }{{33, 9, 0.05}, {31, 7, 0.05}, {29, 4, 0.06}, {21, 4, 0.05}, {20, 3, 0.05}, {15, 4, 0.16}} {
		assert.InDelta(t, c.after/(0.9*c.pace), rests((17.7-c.after)/c.pace-restUnseen), c.off, "%+v", c)
	}
}

// bounced are balls, so many m/s faster than usual, on a way from behind and high above the
// arm, which were only seen to fall.
func bounced(faster float64) (*way, []delivery) {
	above := pinhole{x: -4, y: -1.5, z: 4.5, f: 330}
	balls := over()
	w := &way{ux: 0, uy: -1, ay: -1, x: 8.5 * cellSide, y: 4.5 * cellSide, climbs: true}
	for i := range balls {
		balls[i].speed += faster
		falls := balls[i].seen(above)[0]
		w.passes = append(w.passes, pass{at: falls.to.t + 0.5, first: unseenFirst, came: falls, fell: true, ground: &ground{falls.to.y, falls.to.t}})
	}
	return w, balls
}

// TestTheBowlerIsNoBatter leaves out what moves far from where the bat meets the ball.
func TestTheBowlerIsNoBatter(t *testing.T) {
	w, _ := bounced(0)
	cells := make([]float64, 144)
	cells[4*16+8], cells[8*16+1] = 1, 5
	w.atBat(cells, 256)
	assert.Positive(t, cells[4*16+8])
	assert.Zero(t, cells[8*16+1], "the bowler moves elsewhere")
}

// TestTooFewBouncesTellNothing leaves what is known of two balls.
func TestTooFewBouncesTellNothing(t *testing.T) {
	w := &way{passes: []pass{{at: 10, ground: &ground{90, 9.8}}, {at: 20, ground: &ground{99, 19.7}}}}
	w.fromGround()
	assert.InDelta(t, 10, w.passes[0].at, 1e-9)
	assert.InDelta(t, 20, w.passes[1].at, 1e-9)
}
