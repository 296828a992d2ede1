package split

import (
	"cmp"
	"context"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
)

// pinhole is a camera at a place in metres, level, that looks along x or, from
// the side, along y, or, from behind the batter, back along x; f is its focal
// length in pixels of a picture 256 wide.
type pinhole struct {
	x, y, z, f   float64
	side, behind bool
}

func (c pinhole) sees(x, y, z float64) (u, v, away float64) {
	away, right := x-c.x, y-c.y
	switch {
	case c.side:
		away, right = y-c.y, c.x-x
	case c.behind:
		away, right = c.x-x, c.y-y
	}
	return 128 + c.f*right/away, 72 - c.f*(z-c.z)/away, away
}

// delivery is a ball in metres and seconds: x from the bowler's stumps to the
// batter's, 20.12 m away (Laws of Cricket 6.1), y across, z up. It flies without
// drag at standard gravity, 9.80665 m/s2 (CGPM 1901), and keeps 0.9 of its level
// speed and half of its speed down when it bounces (common practice, no source).
type delivery struct{ y, speed, down, at float64 }

const (
	releaseX, releaseZ = 1.0, 2.1
	contactX           = 18.5
	gravity            = 9.80665
)

func (d delivery) bounce() (after, x float64) {
	after = (-d.down + math.Sqrt(d.down*d.down+2*gravity*releaseZ)) / gravity
	return after, releaseX + d.speed*after
}

func (d delivery) contact() float64 {
	after, x := d.bounce()
	return after + (contactX-x)/(0.9*d.speed)
}

// seen are the flights of a delivery in a camera's picture, fifty a second: to
// the bounce, to the bat, and away from it.
func (d delivery) seen(c pinhole) []arc {
	after, atX := d.bounce()
	contact := d.contact()
	up := (d.down + gravity*after) / 2
	place := func(t float64) (x, y, z float64) {
		switch {
		case t < after:
			return releaseX + d.speed*t, d.y, releaseZ - d.down*t - gravity*t*t/2
		case t < contact:
			u := t - after
			return atX + 0.9*d.speed*u, d.y, up*u - gravity*u*u/2
		}
		u, b := t-contact, contact-after
		return contactX - 12*u, d.y + 9*u, up*b - gravity*b*b/2 + u
	}
	var f flights
	for _, part := range [][2]float64{{0.06, after}, {after, contact}, {contact, contact + 0.4}} {
		fl := flight{sign: 1, sure: true}
		for k := math.Ceil(part[0] * 50); k/50 < part[1]; k++ {
			u, v, away := c.sees(place(k / 50))
			if u >= 0 && u < 256 {
				fl.points = append(fl.points, flightPoint{t: d.at + k/50, x: u, y: v, mass: 3e4 / (away * away)})
			}
		}
		if len(fl.points) >= flightLeast {
			f.land(fl)
		}
	}
	return f.arcs
}

// over is six deliveries of different pace, length and line.
func over() []delivery {
	var out []delivery
	for i := range 6 {
		k := float64(i)
		out = append(out, delivery{y: 0.4 - 0.16*k, speed: 29 + 0.6*k, down: 2.6 + 0.4*float64(i%4), at: 10 * (k + 1)})
	}
	return out
}

var (
	behindTheArm = pinhole{x: -4, y: -1.5, z: 2.2, f: 330}
	sideOn       = pinhole{x: 15, y: -9, z: 1.6, f: 150, side: true}
)

func seenBy(c pinhole, balls []delivery) *session {
	var arcs []arc
	for _, d := range balls {
		arcs = append(arcs, d.seen(c)...)
	}
	return &session{seconds: 70, views: views{{from: 0, to: 70, width: 256, height: 144, grey: inAir(arcs)}}}
}

// inAir is what flew, in whatever order it is given.
func inAir(arcs []arc) air {
	return newAir(slices.SortedFunc(slices.Values(arcs), func(a, b arc) int { return cmp.Compare(a.to.t, b.to.t) }))
}

func TestBouncesAreSeenFromAnySide(t *testing.T) {
	for name, c := range map[string]pinhole{"behind the arm": behindTheArm, "from the side": sideOn} {
		t.Run(name, func(t *testing.T) {
			balls := over()
			s := seenBy(c, balls)
			list := bouncesOf(s.views[0].grey.arcs, s.views[0].grey.bounces)
			require.Equal(t, len(balls), len(list), "one for each ball, and none where the bat turns it")
			for i, b := range list {
				after, _ := balls[i].bounce()
				assert.InDelta(t, balls[i].at+after, b.in.to.t, 0.021)
			}
			assert.Equal(t, name == "behind the arm", steep(list))
		})
	}
}

// TestWayFromAnySide meets balls where they meet the bat: from the side to a
// picture, from behind the arm, where they hardly move by then, to a tenth.
func TestWayFromAnySide(t *testing.T) {
	for name, c := range map[string]struct {
		camera pinhole
		off    float64 // s
	}{"behind the arm": {behindTheArm, 0.1}, "from the side": {sideOn, 0.02}} {
		t.Run(name, func(t *testing.T) {
			balls := over()
			s := seenBy(c.camera, balls)
			s.way = s.learnWay(nil)
			w := s.way
			require.NotNil(t, w)
			assert.Len(t, w.bounced, len(balls))
			require.Len(t, w.passes, len(balls))
			for i, p := range w.passes {
				assert.InDelta(t, balls[i].at+balls[i].contact(), p.at, c.off, "ball %d", i)
				if b := s.bounceSeen(p.at); assert.NotNil(t, b) {
					after, _ := balls[i].bounce()
					assert.InDelta(t, balls[i].at+after, b.at(), 0.04)
				}
				if !c.camera.side { // from the side it comes into the picture later
					assert.InDelta(t, balls[i].at+0.06, p.first.t, 0.021, "ball %d", i)
				}
			}
		})
	}
}

// TestOwnNetBeforeTheNext has three times as many balls of the next net, whose batter stands at
// the picture's edge, farther away: the way is that of the balls in the middle.
func TestOwnNetBeforeTheNext(t *testing.T) {
	balls := over()
	s := seenBy(sideOn, balls)
	own := s.learnWay(nil)
	require.NotNil(t, own)
	var all []arc
	next := pinhole{x: 6.3, y: -16, z: 1.6, f: 150, side: true}
	for i := range 18 {
		at := 3 + 3.6*float64(i)
		all = append(all, delivery{y: 1, speed: 30, down: 3, at: at}.seen(next)...)
	}
	ours, theirs := s.views[0].grey.bounces, newAir(all).bounces
	s.views[0].grey = inAir(append(all, s.views[0].grey.arcs...))
	assert.Less(t, s.bounceWorth(theirs), s.bounceWorth(ours)/2, "half out of the picture")
	w := s.learnWay(nil)
	require.NotNil(t, w)
	require.Equal(t, len(balls), len(w.passes))
	for i, p := range w.passes {
		assert.InDelta(t, own.passes[i].at, p.at, 0.05)
	}
}

// TestRedBallOnGreenGrass has a ball as bright as the grass it flies over: only
// its colour gives it away, and a picture without colour shows nothing.
func TestRedBallOnGreenGrass(t *testing.T) {
	for _, coloured := range []bool{true, false} {
		v, err := gaze(t.Context(), lawn(coloured), media.Probe{Width: 1280, Height: 720}, 0, 1)
		require.NoError(t, err)
		assert.Empty(t, v.grey.arcs)
		if !coloured {
			assert.Empty(t, v.warm.arcs)
			continue
		}
		require.NotEmpty(t, v.warm.arcs)
		assert.InDelta(t, 200, v.warm.arcs[0].vx, 10, "pixels a second")
	}
}

// lawn is footage of grass with a ball that crosses it at 200 pixels a second. The
// colours are Cb and Cr of dark red leather and of grass, from memory.
type lawn bool

func (lawn) Sound(context.Context, int, func([]float32) error) error { return nil }

func (lawn) Packets(context.Context, func(media.Micros, int, bool) error) error { return nil }

func (l lawn) Pictures(_ context.Context, within media.Span, width, height int, _ float64, fn func(at media.Micros, grey, blue, red []byte) error) error {
	grey, blue, red := make([]byte, width*height), make([]byte, width*height), make([]byte, width*height)
	for at := within.Start; at < within.End; at += media.Second / 50 {
		ball := 20 + 200*at.Seconds()
		for i := range grey {
			x, y := float64(i%width), float64(i/width)
			grey[i], blue[i], red[i] = byte(90+int(4*math.Sin(x)+4*math.Sin(y/2))), 108, 118
			if math.Hypot(x-ball, y-70) < 2.5 {
				grey[i], blue[i], red[i] = grey[i]+2, 120, 175 // less than is ever taken for motion
			}
		}
		var err error
		if l {
			err = fn(at, grey, blue, red)
		} else {
			err = fn(at, grey, nil, nil)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// TestWayByColour has balls that only their colour shows, beside a bat that is
// lifted in both: the way is that of the colour, and the other way round.
func TestWayByColour(t *testing.T) {
	balls := over()
	shown := seenBy(sideOn, balls).views[0].grey
	var bats []arc
	for _, d := range balls {
		bats = append(bats, thrown(d.at-0.6, 131, 86, -15, -130, 0, 0, 0.16))
	}
	for _, warm := range []bool{true, false} {
		v := &view{from: 0, to: 70, width: 256, height: 144, grey: shown, warm: newAir(bats)}
		if warm {
			v.grey, v.warm = v.warm, v.grey
		}
		w := (&session{seconds: 70, views: views{v}}).learnWay(nil)
		require.NotNil(t, w)
		assert.Equal(t, warm, w.warm)
		assert.Len(t, w.passes, len(balls))
	}
}

// TestASureWayOutweighsSounds weighs a bat's sound while nothing comes, and a ball
// that comes and is not heard, with a way on which balls were seen to bounce and
// with one on which none was.
func TestASureWayOutweighsSounds(t *testing.T) {
	weigh := func(bounced int, c clues, struck bool) float64 {
		s := &session{learnt: 10, silence: 3, heard: &ear{loudest: 0}, way: &way{ux: 1, group: make([]arc, wayLeast), bounced: make([]bounce, bounced), shown: 0.9}}
		return s.weigh(c, struck)
	}
	next := clues{crack: 1, colour: 2, seen: true, shotIn: 2, flight: -2}
	assert.Less(t, weigh(bounceTells, next, true), weigh(0, next, true)-1)
	left := clues{seen: true, feedIn: 2, flight: flightMost}
	assert.InDelta(t, 0, (&session{learnt: 10, silence: 3}).weigh(left, false)+3-(&session{learnt: 10}).weigh(left, false), 1e-9, "silence counts in full without a way")
	assert.Greater(t, weigh(0, left, false), 0.0, "what was seen to come need not be heard")
}

// TestWhatGoesAwayFromTheCameraBounces has a ball seen from halfway round, which looks
// slower and slower: beyond the bounce it has a third of its speed in the mean, though
// at the bounce it goes on much as it came. It was not struck there.
func TestWhatGoesAwayFromTheCameraBounces(t *testing.T) {
	in := thrown(0, 250, 70, -300, 60, 0, 0, 0.3)
	in.endX = -170
	out := thrown(in.to.t+0.04, in.to.x-6, in.to.y, -90, -60, 0, 0, 0.3)
	w := &way{}
	w.aim(-1, 0)
	assert.True(t, w.bounces(in, out))
	assert.Equal(t, []arc{in}, newAir([]arc{in, out}).unbounced(nil))
	back := thrown(in.to.t+0.04, in.to.x-6, in.to.y, 90, -60, 0, 0, 0.3)
	assert.False(t, w.bounces(in, back), "what comes back was struck")
}
