package split

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestTheShorterTheLater has slow balls of different length from behind and high above
// the arm, of which is only seen where they bounce, and a batter who is late on some and
// early on others: together they tell when each is met, for all that most balls are
// faster and most cameras lower.
func TestTheShorterTheLater(t *testing.T) {
	above := pinhole{x: -4, y: -1.5, z: 4.5, f: 330}
	balls := over()
	for i := range balls {
		balls[i].speed -= 9
	}
	v := &view{from: 0, to: 70, width: 256, height: 144, cells: 144, channels: 144}
	for at := 0.0; at < 70; at += 0.02 {
		v.times = append(v.times, at)
		row := make([]byte, 144)
		for i, d := range balls {
			begins := d.at + d.contact() - swingBegins + 0.03*math.Sin(float64(3*i))
			if at > begins && at < begins+0.15+0.03*float64(i%3) { // the follow-through lasts as it likes
				row[4*16+8] = 200
			}
		}
		v.rows = append(v.rows, row...)
	}
	s := &session{seconds: 70, views: views{v}}
	w := &way{ux: 0, uy: -1, ay: -1, x: 8.5 * cellSide, y: 4.5 * cellSide, climbs: true}
	for _, d := range balls {
		falls := d.seen(above)[0]
		w.passes = append(w.passes, pass{at: falls.to.t + climbUsual, came: falls, fell: true, ground: &ground{falls.to.y, falls.to.t}})
	}
	cells := make([]float64, 144)
	cells[4*16+8], cells[8*16+1] = 1, 5
	w.atBat(cells, v.width)
	require.Positive(t, cells[4*16+8])
	require.Zero(t, cells[8*16+1], "the bowler moves elsewhere")
	s.overlay(w, cells)
	for i, d := range balls {
		assert.InDelta(t, d.at+d.contact(), w.passes[i].at, 0.06, "ball %d", i)
	}
}

// TestTooFewBouncesTellNothing leaves what is known of two balls.
func TestTooFewBouncesTellNothing(t *testing.T) {
	w := &way{passes: []pass{{at: 10, ground: &ground{90, 9.8}}, {at: 20, ground: &ground{99, 19.7}}}}
	s := &session{seconds: 30, views: views{{from: 0, to: 30}}}
	s.overlay(w, nil)
	assert.InDelta(t, 10, w.passes[0].at, 1e-9)
	assert.InDelta(t, 20, w.passes[1].at, 1e-9)
}
