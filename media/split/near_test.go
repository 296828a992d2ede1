package split

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// nearingBalls are seen from behind the batter until they bounce, on a way that says
// they are met where they are lost, and a batter who is late on some and early on others.
func nearingBalls() (*session, *way, []float64) {
	c := pinhole{x: 24, y: 0.8, z: 2.2, f: 330, behind: true}
	v := &view{from: 0, to: 70, width: 256, height: 144, cells: 144, channels: 144}
	for at := 0.0; at < 70; at += 0.02 {
		v.times = append(v.times, at)
		row := make([]byte, 144)
		for i, d := range over() {
			begins := d.at + d.contact() - swingBegins + 0.03*math.Sin(float64(3*i))
			if at > begins && at < begins+0.15 {
				row[5*16+8] = 200
			}
		}
		v.rows = append(v.rows, row...)
	}
	w := &way{}
	for _, d := range over() {
		w.group = append(w.group, d.seen(c)[0])
	}
	w.point(w.group)
	w.aim(w.ux, w.uy)
	for _, a := range w.group {
		w.passes = append(w.passes, pass{at: a.to.t, first: a.from, came: a})
	}
	cells := make([]float64, 144)
	cells[5*16+8] = 1
	return &session{seconds: 70, views: views{v}}, w, cells
}

// TestLostWhereItBounces has balls that are seen no longer once they have bounced: their
// batter's swings tell when they are met.
func TestLostWhereItBounces(t *testing.T) {
	s, w, cells := nearingBalls()
	require.True(t, w.nears())
	s.meetNear(w, cells)
	for i, d := range over() {
		assert.InDelta(t, d.at+d.contact(), w.passes[i].at, 0.08, "ball %d", i)
	}
}

// TestSeenToGo has balls that go from the bat, where nothing is seen of a swing; what
// goes on at once from where a ball came is no struck one.
func TestSeenToGo(t *testing.T) {
	s, w, cells := nearingBalls()
	clear(s.views[0].rows)
	for i, d := range over() {
		w.passes[i].gone = &arc{from: flightPoint{t: d.at + d.contact() + nearLost}}
	}
	w.passes[0].gone.from.t = w.passes[0].came.to.t
	s.meetNear(w, cells)
	for i, d := range over() {
		assert.InDelta(t, d.at+d.contact(), w.passes[i].at, 0.06, "ball %d", i)
	}
	_, ok := w.passes[0].left()
	assert.False(t, ok)
}

// TestTurnedWhereItBounced has balls that are said to turn where they were lost, since that
// is where those that are seen to go would have come from.
func TestTurnedWhereItBounced(t *testing.T) {
	turnedThere := func(seenToGo int) (*session, *way, []float64) {
		s, w, cells := nearingBalls()
		clear(s.views[0].rows)
		for i, d := range over()[:seenToGo] {
			p := &w.passes[i]
			p.turned, p.turn = true, p.at
			p.gone = &arc{from: flightPoint{t: d.at + d.contact() + nearLost}}
		}
		return s, w, cells
	}
	s, w, cells := turnedThere(meetLeast)
	s.meetNear(w, cells)
	for i, d := range over() {
		assert.InDelta(t, d.at+d.contact(), w.passes[i].at, 0.07, "ball %d", i)
	}

	s, w, cells = turnedThere(meetLeast - 1)
	at := w.passes[0].at
	s.meetNear(w, cells)
	assert.InDelta(t, at, w.passes[0].at, 1e-9, "few are seen to go: turns are believed")
}

// TestHalfHiddenWhenLastSeen has a ball that seems to stop there.
func TestHalfHiddenWhenLastSeen(t *testing.T) {
	s, w, cells := nearingBalls()
	p := &w.passes[2]
	p.came.endX, p.came.endY, p.came.vx, p.came.vy = 0, 0, 0, 0
	s.meetNear(w, cells)
	assert.InDelta(t, over()[2].at+over()[2].contact(), p.at, 0.12)
}

// TestOneSpoiltSightingTellsNothing has balls that near the camera, of which some are
// half hidden when they are last seen.
func TestOneSpoiltSightingTellsNothing(t *testing.T) {
	_, w, _ := nearingBalls()
	for i := range w.group {
		if i%3 == 0 {
			w.group[i].to.mass /= 20
		} else if i%3 == 1 && i > 1 {
			w.group[i].endX, w.group[i].endY = w.group[i].begX, w.group[i].begY
		}
	}
	assert.True(t, looms(w.group))
	for i := range w.group {
		w.group[i].to.mass = w.group[i].from.mass
	}
	assert.False(t, looms(w.group), "as large as before")
}
