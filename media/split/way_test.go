package split

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestALiftedBatIsNoWayIn has six balls seen from behind the arm, each after the
// bat was lifted: both go alike each time, and the ball comes to the bat.
func TestALiftedBatIsNoWayIn(t *testing.T) {
	var bats, balls, all []arc
	for i := range 6 {
		at := 10 * float64(i+1)
		bats = append(bats, thrown(at-0.65, 131, 86, -15, -130, 0, 0, 0.16))
		balls = append(balls, thrown(at-0.48, 165, 68, -100, 60, 0, 0, 0.36))
		all = append(all, bats[i], balls[i])
	}
	assert.InDelta(t, 1, approached(all, bats), 1e-9)
	assert.Zero(t, approached(all, balls))
}

// TestWhatComesBackFromTheNetHasNotTurned has balls that fly on past the batter
// and out of the picture, and roll back into it from the net.
func TestWhatComesBackFromTheNetHasNotTurned(t *testing.T) {
	var arcs []arc
	for i := range 6 {
		at := 10 * float64(i+1)
		arcs = append(arcs,
			thrown(at-0.3, 20, 80, 500, 0, 0, 0, 0.46),
			thrown(at+0.6, 250, 90, -80, 0, 0, 0, 0.5))
	}
	v := &view{from: 0, to: 70, width: 256, height: 144, grey: newAir(arcs)}
	s := &session{views: views{v}, seconds: 70}
	w := s.learnWay(nil)
	require.NotNil(t, w)
	require.Len(t, w.passes, 6)
	for i, p := range w.passes {
		assert.False(t, p.turned, "ball %d", i)
		assert.True(t, v.leaves(p.came))
	}
}

// TestPaceOfWhatComesSlantwise has balls that near a camera beside the batter: in the picture
// they are fastest at the end of their flight, which is how fast they go on.
func TestPaceOfWhatComesSlantwise(t *testing.T) {
	for _, d := range over() {
		in := d.seen(pinhole{x: 24, y: 6, z: 2.2, f: 330, behind: true})[0]
		w := &way{mute: true}
		w.point([]arc{in})
		w.aim(w.ux, w.uy)
		if !assert.Zero(t, w.ay) || !assert.False(t, w.fromSide()) {
			return
		}
		assert.Greater(t, w.pace(in), 1.1*w.level(in))
		for name, o := range map[string]*way{"there is sound": {ux: w.ux, ax: w.ax}, "from the side": {ux: 1, ax: w.ax, mute: true}} {
			assert.InDelta(t, o.level(in), o.pace(in), 1e-9, name)
		}
		stops := in
		stops.endX = 0
		assert.InDelta(t, w.level(in)/2, w.pace(stops), 1e-9, "no ball stops")
		in.points = curvePoints - 1
		assert.InDelta(t, w.level(in), w.pace(in), 1e-9, "too short for a curve")
	}
}

// fromBeside is the first part of a ball's flight from a camera 10 m off and 6 m beside its line,
// by the projection of a pinhole, at 30 m/s; and where it is in the picture 0.5 s after it
// was bowled.
func fromBeside(at float64) (a arc, later float64) {
	x := func(t float64) float64 { return 330 * 6 / (10 + 30*t) }
	pace := func(t float64) float64 { return -x(t) * 30 / (10 + 30*t) }
	a = arc{from: flightPoint{t: at, x: x(0), y: 60}, to: flightPoint{t: at + 0.3, x: x(0.3), y: 60},
		vx: (x(0.3) - x(0)) / 0.3, begX: pace(0), endX: pace(0.3), points: 15}
	return a, x(0.5)
}

// TestSlowerTheFartherOff has a ball that goes away from the camera beside its line: it is met
// later than it would be if it went on as fast in the picture as it was last seen to.
func TestSlowerTheFartherOff(t *testing.T) {
	a, later := fromBeside(10)
	w := &way{mute: true}
	w.point([]arc{a})
	w.aim(w.ux, w.uy)
	w.meet = w.on(flightPoint{x: later, y: 60})
	assert.True(t, w.fromSide(), "it goes level")
	assert.Less(t, w.meets(a), 10.42)

	w.slant = w.slants([]arc{a, a, a})
	assert.False(t, w.fromSide(), "but slows down more than any does that is seen from the side")
	assert.InDelta(t, 10.5, w.meets(a), 1e-6)
	w.meet = w.on(flightPoint{x: 330 * 6 / (10 + 30*0.2), y: 60})
	assert.InDelta(t, 10.2, w.meets(a), 1e-6, "it was met before it was last seen")

	assert.False(t, w.slants([]arc{a, a}), "too few")
	a.begX, a.endX = a.vx/0.95, a.vx*0.95
	assert.False(t, w.slants([]arc{a, a, a}), "the air slows it by as much")
	a.points = curvePoints - 1
	a.begX, a.endX = 2*a.vx, a.vx/2
	assert.False(t, w.slants([]arc{a, a, a}), "too short for a curve")
}

// TestShortBallsTakeNoLonger has balls that were only seen to fall, short and full:
// from their release all take about as long.
func TestShortBallsTakeNoLonger(t *testing.T) {
	passes := []pass{
		{at: 10.6, first: flightPoint{t: 10}},
		{at: 20.45, first: flightPoint{t: 20}, fell: true, came: arc{to: flightPoint{t: 20.3}}},
		{at: 30.8, first: flightPoint{t: 30}, fell: true, came: arc{to: flightPoint{t: 30.5}}},
		{at: 40.9, first: flightPoint{t: 40}, fell: true, came: arc{to: flightPoint{t: 40.7}}},
	}
	inTime(passes, []float64{0.6})
	for i, want := range []float64{10.6, 20.6, 30.6, 40.7} {
		assert.InDelta(t, want, passes[i].at, 1e-9, "ball %d", i)
	}
}

// TestWhatNearsTheCamera has balls seen from behind the batter, who hides them once
// they have bounced, and who puts the bat down after each. The latter is the larger,
// but does not come nearer.
func TestWhatNearsTheCamera(t *testing.T) {
	behindTheBatter := pinhole{x: 24, y: 0.8, z: 2.2, f: 330, behind: true}
	var arcs []arc
	for _, d := range over() {
		falls := d.seen(behindTheBatter)[0]
		require.Greater(t, falls.to.mass, loomMass*falls.from.mass)
		arcs = append(arcs, falls, thrown(d.at+1.6, 110, 72, -5, 118, 0, 0, 0.4))
	}
	s := &session{seconds: 70, views: views{{from: 0, to: 70, width: 256, height: 144, grey: newAir(arcs)}}}
	w := s.learnWay(nil)
	require.NotNil(t, w)
	require.Len(t, w.passes, 6)
	for i, d := range over() {
		assert.InDelta(t, d.at+d.contact(), w.passes[i].at, 0.4, "ball %d", i)
	}
}
