package split

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// besideEachOther are two nets 4 m apart (common practice, no source) seen from the
// side: the balls of the near one, and those of the far one between them.
func besideEachOther() (near, far []delivery) {
	near = over()
	for i := range 12 {
		k := float64(i)
		far = append(far, delivery{y: 4 + 0.1*k, speed: 29 + 0.3*k, down: 2.6 + 0.4*float64(i%4), at: 4 + 10*float64(i/2) + 3*float64(i%2)})
	}
	return near, far
}

// TestTheNearestNetIsFilmed has twice as many balls in the next net, seen in full
// behind one's own: those that bounce on the nearest ground are the session's.
func TestTheNearestNetIsFilmed(t *testing.T) {
	near, far := besideEachOther()
	s := seenBy(sideOn, append(slices.Clone(near), far...))
	w := s.learnWay(nil)
	require.NotNil(t, w)
	require.Len(t, w.passes, len(near))
	for i, d := range near {
		assert.InDelta(t, d.at+d.contact(), w.passes[i].at, 0.03, "ball %d", i)
	}
}

// TestOneGroundIsNotTwo has one net only: its balls bounce here and there, short ones a
// little higher in the picture, and one stray bounce is no net.
func TestOneGroundIsNotTwo(t *testing.T) {
	for name, c := range map[string]pinhole{"side on": sideOn, "farther off": {x: 10, y: -14, z: 2.6, f: 200, side: true}} {
		s := seenBy(c, over())
		list := bouncesOf(s.views[0].grey.arcs, s.views[0].grey.bounces)
		require.NotEmpty(t, list, name)
		assert.Nil(t, partNets(list), name)
		at := flightPoint{t: 65, x: 120, y: 70}
		assert.Nil(t, partNets(append(list, bounce{arc{to: at, points: 5}, arc{from: at, points: 5}})), "%s, and a stray one", name)
	}
	var short, full []bounce
	for i := range 4 {
		k := float64(i)
		at := flightPoint{x: 60 + 4*k, y: 93}
		full = append(full, bounce{arc{to: at}, arc{from: at}})
		at = flightPoint{x: 120 + 4*k, y: 92}
		short = append(short, bounce{arc{to: at}, arc{from: at}})
	}
	assert.Nil(t, partNets(append(full, short...)), "a ground that leans is not made of where balls pitch")
}

// TestThroughTheNextNet looks through the next net at one's own: where the bats of the
// farther one are heard, its balls are not thrown out.
func TestThroughTheNextNet(t *testing.T) {
	near, far := besideEachOther()
	s := seenBy(sideOn, append(slices.Clone(near), far...))
	n := partNets(s.views[0].grey.bounces)
	require.NotNil(t, n)
	var heard []anchor
	for _, d := range far {
		heard = append(heard, anchor{d.at + d.contact(), 0.9, true})
	}
	assert.True(t, s.knowsNearest(n, nil))
	assert.False(t, s.knowsNearest(n, heard))
	for _, d := range near[:3] {
		s.words = append(s.words, word{at: d.at + d.contact(), known: true, ball: true})
	}
	assert.True(t, s.knowsNearest(n, heard), "somebody said which are meant")
}

// TestFilmedFromBehindTheNextArm has the next net's balls seen from behind the arm of
// one's own: they are not the session's until somebody says that they are.
func TestFilmedFromBehindTheNextArm(t *testing.T) {
	own := seenBy(behindTheArm, over())
	assert.False(t, own.nextNets(own.views[0].grey.bounces))
	aside := behindTheArm
	aside.y += 4.5
	s := seenBy(aside, over())
	assert.True(t, s.nextNets(s.views[0].grey.bounces))
	assert.Nil(t, s.learnWay(nil), "nor is where they go from there")
	first := over()[0]
	s.words = []word{{at: first.at + first.contact(), known: true, ball: true}}
	assert.False(t, s.nextNets(s.views[0].grey.bounces))
}

// TestSmallBallsAreTheOthers has balls that aren't seen to bounce beside a net whose
// ground is known: what looks much smaller than its balls is not one.
func TestSmallBallsAreTheOthers(t *testing.T) {
	n := &nets{near: seenBy(sideOn, over()).views[0].grey.bounces, edge: 1}
	usual := usualMass(n.balls())
	fullToss, theirs := arc{mass: 0.9 * usual}, arc{mass: 0.6 * usual}
	assert.Equal(t, []arc{fullToss}, n.ownOnly([]arc{fullToss, theirs}, nil))
	high := n.near[0]
	n.edge = 200
	assert.Empty(t, n.ownOnly([]arc{high.in, high.out}, n.near), "they bounce on another ground")
}
