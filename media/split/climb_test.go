package split

import (
	"cmp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
)

// TestWhatRisesHasBounced has two balls seen from behind the arm to come down and to go
// up again, and some that are bowled along the camera's line: of these only the way up
// is seen, once by its colour alone. The bat is lifted from higher up, and a hand goes
// another way.
func TestWhatRisesHasBounced(t *testing.T) {
	var grey []arc
	for i := range 2 {
		at := 10 * float64(i+1)
		grey = append(grey, thrown(at-0.4, 180, 60, -120, 100, 0, 0, 0.38), thrown(at, 132, 100, -20, -160, 0, 0.02, 0.16))
	}
	rise, seenToFall := thrown(30, 134, 99, -10, -170, 0, 0, 0.16), thrown(40, 131, 98, -25, -150, 0, 0, 0.16)
	fall := thrown(39.5, 180, 62, -110, 90, 0, 0, 0.3)
	bat, hand := thrown(50, 130, 84, -10, -160, 0, 0, 0.16), thrown(60, 134, 100, 150, -60, 0, 0, 0.16)
	coloured := thrown(70, 133, 98, -15, -150, 0, 0, 0.16)
	coloured.mass *= 9
	air := newAir(append(grey, rise, fall, seenToFall, bat, hand))
	require.Len(t, air.bounces, 2)
	s := &session{seconds: 80, views: views{{from: 0, to: 80, width: 256, height: 144, grey: air, warm: newAir([]arc{coloured})}}}
	w := &way{}
	assert.Equal(t, []arc{rise, seenToFall, coloured}, s.rises(w, air.bounces))
	assert.Empty(t, s.rises(w, air.bounces[:1]), "one bounce may be anything")

	s.climb(w, []arc{fall}, air.bounces, nil)
	require.Len(t, w.passes, 5)
	for i, at := range []float64{10, 20, 30, 40, 70} {
		p := w.passes[i]
		assert.InDelta(t, at+0.15, p.at, 0.15, "ball %d", i)
		require.NotNil(t, p.ground)
		assert.InDelta(t, at, p.ground.at, 0.03, "ball %d", i)
		assert.InDelta(t, 98, p.ground.y, 3, "ball %d", i)
	}
	assert.InDelta(t, -1, w.passes[2].first.t, 1e-9, "it was not seen before it bounced")
	assert.InDelta(t, 39.5, w.passes[3].first.t, 1e-9, "it was seen to fall")
}

// TestALongFlightIsNoParabola takes a second's flight for a ball's that is as far off a
// curve as a short one must not be.
func TestALongFlightIsNoParabola(t *testing.T) {
	off := arc{rough: 1.3 * wayRough, to: flightPoint{t: 1}}
	assert.True(t, off.smooth())
	off.to.t = roughTime
	assert.False(t, off.smooth())
}

// TestMoreBouncesDecide has two ways that say next to the same of the balls.
func TestMoreBouncesDecide(t *testing.T) {
	sure, other := &way{bounced: make([]bounce, 3)}, &way{bounced: make([]bounce, 1)}
	assert.True(t, sure.outsays(other, -speaksAlike/2))
	assert.False(t, other.outsays(sure, speaksAlike/2))
	assert.False(t, sure.outsays(other, -2*speaksAlike), "who says more of the balls")
	assert.True(t, other.outsays(&way{}, speaksAlike/2), "one bounce decides nothing")
	assert.False(t, other.outsays(&way{}, -speaksAlike/2))
}

// TestAFewThatGoSayLittle doubts a ball that is not seen to go where nine in ten are,
// not where four in six are.
func TestAFewThatGoSayLittle(t *testing.T) {
	passes := make([]pass, 10)
	for i := range 9 {
		passes[i].gone = &arc{}
	}
	assert.Greater(t, leaveShare(passes), leaveMost)
	assert.Less(t, leaveShare(passes[5:9:9]), 1.0)
	assert.Less(t, leaveShare(append(make([]pass, 2), passes[:4]...)), leaveMost)
	assert.Zero(t, leaveShare(nil))
}

// TestWhatGoesOnWasNotStruck has a ball that was lost as it bounced: it goes on as
// another did that was seen to bounce.
func TestWhatGoesOnWasNotStruck(t *testing.T) {
	in, out := thrown(0, 250, 60, -120, 100, 0, 0, 0.3), thrown(0.34, 212, 90, -90, -40, 0, 0, 0.3)
	later, struck := thrown(9, 211, 91, -92, -38, 0, 0, 0.3), thrown(19, 200, 80, 60, -120, 0, 0, 0.3)
	air := newAir([]arc{in, out, later, struck})
	require.Len(t, air.bounces, 1)
	assert.Equal(t, []arc{in, struck}, air.unbounced(air.bounces))
}

// TestBallsThatDropAreLostAsTheyBounce has balls from behind the arm that are seen to come
// down only. It is the way only where no flights lead anywhere; what is moved by hand is
// less smooth, what looks larger on its way comes from the other end, and what comes down
// at the picture's side is the next net's.
func TestBallsThatDropAreLostAsTheyBounce(t *testing.T) {
	var falls []arc
	for i := range 6 {
		falls = append(falls, thrown(10*float64(i+1), 108, 55, 60, 110, 0, 0, 0.3))
	}
	s := &session{seconds: 70, probe: media.Probe{Width: 1280, Height: 720}, views: views{{from: 0, to: 70, width: 256, height: 144, grey: newAir(falls)}}}
	w := s.wayBy(nil, false)
	require.NotNil(t, w)
	assert.True(t, w.climbs)
	require.Len(t, w.passes, 6)
	for i, p := range w.passes {
		assert.True(t, p.fell)
		assert.InDelta(t, 10*float64(i+1)+0.3+climbUsual, p.at, 0.05, "ball %d", i)
	}

	s.way = w
	again := &session{seconds: 70, probe: s.probe, views: s.views, taught: Profile{Version: profileVersion, Balls: 6, Path: s.path()}}
	require.NotNil(t, again.taught.Path)
	known := again.wayBy(nil, false)
	require.NotNil(t, known)
	assert.True(t, known.known)
	require.Len(t, known.passes, 6)
	for i, p := range known.passes {
		assert.InDelta(t, w.passes[i].at, p.at, 0.01, "ball %d, in the next session", i)
	}

	changed := func(change func(a *arc)) []arc {
		out := slices.Clone(falls)
		for i := range out {
			change(&out[i])
		}
		return out
	}
	assert.True(t, s.drops(falls))
	assert.False(t, s.drops(falls[:4]), "too few")
	assert.False(t, s.drops(changed(func(a *arc) { a.rough = 2 * dropRough })), "a hand or a bat")
	assert.True(t, s.drops(changed(func(a *arc) { a.rough, a.from.t = 2*dropRough, a.to.t-2.5*dropTime })), "followed for long")
	assert.False(t, s.drops(changed(func(a *arc) { a.to.mass *= 2 })), "they come towards the camera")
	assert.False(t, s.drops(changed(func(a *arc) { a.from.x, a.to.x = a.from.x+60, a.to.x+60 })), "the next net's")
	assert.False(t, s.drops(changed(func(a *arc) { a.vy, a.to.y = -a.vy, a.from.y-30 })), "they go up")
}

// TestBallsThatDropOutsayWhatHardlyComes has four that near the camera besides, as somebody who
// walks does: the many that drop are the way, the next to none that do are not.
func TestBallsThatDropOutsayWhatHardlyComes(t *testing.T) {
	nears := func(n int) []arc {
		var out []arc
		for i := range n {
			a := thrown(10*float64(i+1)+4, 90, 40, 10, 130, 0, 0, 0.25)
			a.points, a.to.mass, a.begX, a.begY = 2*curvePoints, 2*loomMass*a.from.mass, 5, 130/(2*loomPace)
			out = append(out, a)
		}
		return out
	}
	drops := func(falls, other int) bool {
		flights := nears(other)
		for i := range falls {
			flights = append(flights, thrown(10*float64(i+1), 108, 55, 60, 110, 0, 0, 0.3))
		}
		slices.SortFunc(flights, func(a, b arc) int { return cmp.Compare(a.to.t, b.to.t) })
		s := &session{seconds: 150, probe: media.Probe{Width: 1280, Height: 720}, views: views{{from: 0, to: 150, width: 256, height: 144, grey: newAir(flights)}}}
		led, _ := s.leading(newAir(flights), nil, nil)
		return s.drops(led.group)
	}
	require.True(t, looms(nears(wayLeast)))
	assert.True(t, drops(12, wayLeast))
	assert.False(t, drops(dropLeast, 12))
}

// TestWhatDroppedJustBefore has a hand that comes down before the ball does: the ball is
// followed for much longer.
func TestWhatDroppedJustBefore(t *testing.T) {
	known := []arc{thrown(10, 108, 55, 60, 130, 0, 0, 0.3), thrown(20, 108, 55, 60, 130, 0, 0, 0.3)}
	hand := thrown(29.2, 100, 70, 60, 130, 0, 0, 0.1)
	ball := thrown(30, 108, 55, 60, 130, 0, 0, 0.3)
	passes := fallen(nil, append(slices.Clone(known), hand, ball), known, climbUsual)
	require.Len(t, passes, 3)
	assert.InDelta(t, 30, passes[2].first.t, 1e-9)
}

// TestOneBounceIsNoClimb has balls that go up the picture from the hand to the bat, since the
// camera stands high. One of them seems to bounce where something fell: they still come from
// where they are first seen.
func TestOneBounceIsNoClimb(t *testing.T) {
	var ups []arc
	for i := range 6 {
		ups = append(ups, thrown(10*float64(i+1), 105, 120, 40, -110, 0, 0, 0.5))
	}
	fell := thrown(29.7, 105, 100, 0, 70, 0, 0, 0.28)
	air := inAir(append(slices.Clone(ups), fell))
	require.Len(t, air.bounces, 1)
	s := &session{seconds: 70, probe: media.Probe{Width: 1280, Height: 720}, views: views{{from: 0, to: 70, width: 256, height: 144, grey: air}}}
	w := s.wayBy(nil, false)
	require.NotNil(t, w)
	assert.False(t, w.climbs)
	require.Len(t, w.passes, 6)
	for i, p := range w.passes {
		assert.InDelta(t, 10*float64(i+1), p.first.t, 1e-9, "ball %d", i)
	}
}

// TestBallsLostInTheAirBounceLater has balls that were seen to bounce, and one that was lost
// well before: it takes as long to the ground as it still had to fall.
func TestBallsLostInTheAirBounceLater(t *testing.T) {
	known := []arc{thrown(10, 108, 55, 60, 130, 0, 0, 0.3), thrown(20, 108, 55, 60, 130, 0, 0, 0.3)}
	lost := thrown(30, 108, 55, 60, 130, 0, 0, 0.15)
	passes := fallen(nil, append(known, lost), known, climbUsual)
	require.Len(t, passes, 3)
	assert.InDelta(t, known[0].to.y, passes[2].ground.y, 3)
	assert.InDelta(t, 30.3, passes[2].ground.at, 0.05)
	assert.InDelta(t, passes[2].ground.at+climbUsual, passes[2].at, 1e-9)
}
