package split

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
)

// level draws a flight from (x, y) at time t, for dt seconds.
func level(t, x, y, vx, vy, dt float64) arc {
	return arc{
		from: flightPoint{t: t, x: x, y: y, mass: 100}, to: flightPoint{t: t + dt, x: x + vx*dt, y: y + vy*dt, mass: 100},
		vx: vx, vy: vy, begX: vx, begY: vy, endX: vx, endY: vy, points: 8, mass: 100,
	}
}

// comeAndGo is a way with balls that come along y = 50 to (100, 50): the first of them are
// seen to come, and of the others only that they go, 0.05 s after contact.
func comeAndGo(come, gone int) (w *way, all []arc) {
	w = &way{}
	for i := range come {
		contact := 10 * float64(i+1)
		in := level(contact-0.35, 30, 50, 200, 0, 0.3)
		w.group = append(w.group, in)
		w.passes = append(w.passes, pass{at: contact, came: in})
	}
	all = append(all, w.group...)
	for i := range gone {
		turn := math.Pi * (0.6 + 0.8*float64(i)/float64(gone))
		vx, vy := 150*math.Cos(turn), 150*math.Sin(turn)
		all = append(all, level(10*float64(come+i+1)+0.05, 100+0.05*vx, 50+0.05*vy, vx, vy, 0.3))
	}
	w.point(w.group)
	w.aim(w.ux, w.uy)
	return w, all
}

func TestBallsThatAreOnlySeenToGo(t *testing.T) {
	w, all := comeAndGo(4, 5)
	on, n := w.hitFrom(all, w.group)
	require.Equal(t, 5, n)
	x, y := w.spot(on)
	assert.InDelta(t, 100, x, hitOff)
	assert.InDelta(t, 50, y, 1)
	w.meet = w.on(flightPoint{x: 100, y: 50})
	w.addHits(all)
	require.Len(t, w.passes, 9)
	for i, p := range w.passes {
		assert.InDelta(t, 10*float64(i+1), p.at, 0.01, "ball %d", i)
		assert.Equal(t, i >= 4, p.turned, "ball %d", i)
	}
}

// TestABatThatIsLiftedIsNoBall has the bat lifted where balls are met half a second before
// each: seen before balls that come as well, it is no ball where none is seen to come.
func TestABatThatIsLiftedIsNoBall(t *testing.T) {
	w, struck := comeAndGo(4, 4)
	all := struck
	for i := range 8 {
		all = append(all, level(10*float64(i+1)-0.5, 101, 49, 5, -100, 0.3))
	}
	byEnd := func(list []arc) []arc {
		return slices.SortedFunc(slices.Values(list), func(a, b arc) int { return cmp.Compare(a.to.t, b.to.t) })
	}
	w.meet = w.on(flightPoint{x: 100, y: 50})
	lift, goes := all[len(all)-1], struck[len(struck)-1]
	only := byEnd(append(struck[:len(w.group):len(w.group)], all[len(struck):]...))
	all = byEnd(all)
	assert.True(t, w.backlift(all, lift))
	assert.False(t, w.backlift(all, goes), "a ball that goes")
	w.addHits(only)
	assert.Len(t, w.passes, 4)
	w.addHits(all)
	require.Len(t, w.passes, 8)
	for i, p := range w.passes {
		assert.InDelta(t, 10*float64(i+1), p.at, 0.06, "ball %d", i)
	}
}

// TestThrowsBackAreNoBalls has the batter throw a few balls back where each ball is
// seen to come.
func TestThrowsBackAreNoBalls(t *testing.T) {
	w, all := comeAndGo(9, 3)
	w.meet = w.on(flightPoint{x: 100, y: 50})
	w.addHits(all)
	assert.Len(t, w.passes, 9)
}

// TestWhatCanNotBeThatBall has a bat lifted elsewhere just before each ball is seen:
// it does not make the ball one that goes.
func TestWhatCanNotBeThatBall(t *testing.T) {
	var group, all []arc
	for i := range 6 {
		at := 10 * float64(i+1)
		in := level(at, 160, 90, -250, -20, 0.2)
		group = append(group, in)
		all = append(all, level(at-0.4, 60, 80, 0, -60, 0.3), in)
	}
	assert.Zero(t, order(all, group))
	for i := range 6 {
		at := 10 * float64(i+1)
		all[2*i] = level(at-0.3, 250, 50, -300, 150, 0.28)
	}
	assert.Equal(t, -1.0, order(all, group), "the same ball before its bounce")
}

func TestTheOwnNetIsInTheMiddle(t *testing.T) {
	s := &session{probe: media.Probe{Width: 1280, Height: 720}}
	own, next := []arc{level(1, 60, 80, 220, 30, 0.3)}, []arc{level(1, 255, 80, -220, 30, 0.3)}
	assert.Greater(t, s.central(own), 1.5*s.central(next))
}

func TestWhatFliesOnAfterSecondsIsAnother(t *testing.T) {
	a := level(1, 20, 80, 50, 20, 0.4)
	near, far := level(11, 50, 92, 50, 20, 0.4), level(11, 180, 144, 50, 20, 0.4)
	assert.True(t, a.like(near))
	assert.False(t, a.like(far))
}
