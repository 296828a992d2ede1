package split

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

// flyAcross are so many balls that fly across the picture, one each six seconds from a time
// on, as low in it and as large as that.
func flyAcross(balls int, from, y, mass float64) []arc {
	var out []arc
	for i := range balls {
		at := from + 6*float64(i)
		out = append(out, arc{from: flightPoint{t: at, x: 180, y: y, mass: mass}, to: flightPoint{t: at + 0.3, x: 90, y: y, mass: mass},
			vx: -300, endX: -300, begX: -300, mass: mass, points: 8})
	}
	return out
}

func TestLargerBallsAreNearer(t *testing.T) {
	far := led{flyAcross(10, 0, 70, 20), 1000}
	near := led{flyAcross(8, 3, 85, 50), 600}
	found := nearest(far, []led{far, near})
	assert.Equal(t, near, found)
	for name, l := range map[string]led{
		"hardly larger":     {flyAcross(8, 3, 85, 35), 600},
		"too few":           {flyAcross(5, 3, 85, 50), 600},
		"says far less":     {flyAcross(8, 3, 85, 50), 400},
		"not from the side": {steeper(near.group), 600},
		"the other way":     {back(near.group), 600},
	} {
		assert.Equal(t, far, nearest(far, []led{far, l}), name)
	}
}

// steeper are flights that go down the picture as much as across it.
func steeper(group []arc) []arc {
	out := slices.Clone(group)
	for i := range out {
		out[i].vy, out[i].to.y = -out[i].vx, out[i].from.y+90
	}
	return out
}

// back are flights that go the other way.
func back(group []arc) []arc {
	out := slices.Clone(group)
	for i := range out {
		out[i].from.x, out[i].to.x, out[i].vx = out[i].to.x, out[i].from.x, -out[i].vx
	}
	return out
}

// TestNearerBallsLead has the next net's balls say more than one's own: one's own lead to the
// way, unless somebody said that the others are meant.
func TestNearerBallsLead(t *testing.T) {
	loom := func(group []arc, points int) []arc {
		for i := range group {
			a := &group[i]
			a.to.mass, a.endX, a.points = 2*loomMass*a.from.mass, 2*loomPace*a.begX, points
		}
		return group
	}
	own, next := loom(flyAcross(8, 3, 85, 50), 6), loom(flyAcross(10, 0, 70, 20), 10)
	f := inAir(append(slices.Clone(own), next...))
	s := &session{seconds: 70}
	most := func() float64 {
		led, _ := s.leading(f, nil, s.saidAnchors())
		return usualMass(led.group)
	}
	assert.Equal(t, 50.0, most())
	for _, a := range next[:1] {
		s.words = append(s.words, word{at: a.to.t + 0.2, known: true, struck: true, ball: true})
	}
	assert.Equal(t, 20.0, most())
}

// TestNearerOfTwoPlanes has own white balls, which are followed by brightness only, and the
// next net's red ones, which are followed by colour and, small, by brightness.
func TestNearerOfTwoPlanes(t *testing.T) {
	seen := func(mass float64) (*session, *way, *way) {
		white, red := flyAcross(9, 3, 85, mass), flyAcross(10, 0, 70, 20)
		s := &session{seconds: 70, views: views{{from: 0, to: 70, width: 256, height: 144, grey: inAir(append(slices.Clone(white), red...)), warm: inAir(red)}}}
		way := func(group []arc, warm bool) *way {
			w := &way{group: group, warm: warm, passes: make([]pass, len(group)), bounced: make([]bounce, bounceTells)}
			w.point(group)
			w.worth = usualMass(red) * 100 / usualMass(group)
			return w
		}
		return s, way(white, false), way(red, true)
	}
	s, own, next := seen(60)
	assert.True(t, s.nearerThan(own, next))
	assert.True(t, own == s.believed(own, next, nil))
	assert.False(t, s.nearerThan(next, own), "white balls are not seen by colour")
	s, own, next = seen(30)
	assert.False(t, s.nearerThan(own, next), "hardly larger")
	assert.True(t, next == s.believed(own, next, nil), "it says more")
	s, own, next = seen(60)
	own.bounced = nil
	assert.False(t, s.nearerThan(own, next), "not seen to bounce")
	s, own, next = seen(60)
	s.words = []word{{at: 10, known: true, struck: true, ball: true}}
	assert.False(t, s.nearerThan(own, next), "somebody has said which are meant")
	s, own, next = seen(60)
	next.known = true
	assert.False(t, s.nearerThan(own, next), "an earlier session's way")
}
