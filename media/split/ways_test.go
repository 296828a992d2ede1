package split

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestWhatComesOutdoesWhatGoes has five balls that are seen to come, faint, and some that
// the next net's batter strikes, clear, in all directions: those are believed only if
// they are many more.
func TestWhatComesOutdoesWhatGoes(t *testing.T) {
	seen := func(struck int) *way {
		var come, goes []arc
		for i := range 5 {
			a := thrown(12*float64(i+1), 250, 65, -500, 60, 0, 0, 0.2)
			a.points, a.mass = 5, 40
			come = append(come, a)
		}
		for i := range struck {
			a := thrown(5+5*float64(i), 102, 43, 250, 80*float64(i%5-2), 0, 0, 0.4)
			goes = append(goes, a)
		}
		v := &view{from: 0, to: 90, width: 256, height: 144, grey: inAir(goes), warm: inAir(come)}
		return (&session{seconds: 90, views: views{v}}).learnWay(nil)
	}
	few, many := seen(7), seen(14)
	require.NotNil(t, few)
	require.NotNil(t, many)
	assert.False(t, few.outward())
	assert.Len(t, few.passes, 5)
	assert.True(t, many.outward())
}

// TestWhatRisesIsNoWayInAsReadily compares a group of flights that come level with one
// that goes up the picture.
func TestWhatRisesIsNoWayInAsReadily(t *testing.T) {
	var level, rising []arc
	for i := range 6 {
		at := 10 * float64(i+1)
		level = append(level, thrown(at, 250, 65, -500, 10, 0, 0, 0.2))
		rising = append(rising, thrown(at, 120, 130, 20, -400, 0, 0, 0.2))
	}
	assert.InDelta(t, outwardMore*6, outwardLeast(level, level, true), 1e-9)
	assert.InDelta(t, outwardMore*6*wayRises, outwardLeast(rising, rising, true), 1e-9)
	assert.InDelta(t, outwardMore*6, outwardLeast(rising, rising, false), 1e-9, "bats that are heard tell")
}

// followed is a way on which these balls were seen to come and bounce, ten seconds apart.
func followed(balls ...int) *way {
	w := &way{}
	for _, i := range balls {
		in := level(10*float64(i)-0.35, 30, 50, 200, 0, 0.3)
		w.group = append(w.group, in)
		w.passes = append(w.passes, pass{at: 10 * float64(i), came: in})
		w.bounced = append(w.bounced, bounce{in: in, out: level(10*float64(i), 90, 50, 150, -50, 0.2)})
	}
	w.point(w.group)
	w.aim(w.ux, w.uy)
	w.meet = w.on(flightPoint{x: 100, y: 50})
	return w
}

// TestBallsFollowedByColourAloneJoin has eight balls that come the same way: each is
// followed by brightness or by colour, some by both.
func TestBallsFollowedByColourAloneJoin(t *testing.T) {
	grey, warm := followed(1, 2, 3, 4, 5), followed(3, 4, 5, 6, 8)
	require.True(t, grey.isSame(warm))
	grey.join(warm)
	require.Len(t, grey.passes, 7)
	require.Len(t, grey.bounced, 7)
	for i, ball := range []float64{1, 2, 3, 4, 5, 6, 8} {
		assert.InDelta(t, 10*ball, grey.passes[i].at, 1e-9)
		assert.InDelta(t, 10*ball, grey.bounced[i].at(), 0.1)
	}

	grey, warm = followed(1, 2, 3, 4, 5), followed(5, 6, 7, 8)
	assert.False(t, grey.isSame(warm), "most were seen by colour alone: they may be the next net's")
	warm = followed(2, 3, 4, 5)
	warm.meet += 2 * sameMeets
	assert.False(t, grey.isSame(warm), "met elsewhere")
	warm = followed(2, 3, 4, 5)
	warm.ux, warm.uy = 0, 1
	assert.False(t, grey.isSame(warm), "they come from elsewhere")
	assert.False(t, grey.isSame(&way{x: 100, y: 50}), "seen to go only")
}

// TestTheOneThatShowsManyMoreIsBelieved has two ways of the same balls.
func TestTheOneThatShowsManyMoreIsBelieved(t *testing.T) {
	all := followed(1, 2, 3, 4, 5, 6, 7, 8)
	assert.True(t, all.surpasses(followed(1, 3, 5, 7)))
	assert.False(t, all.surpasses(followed(1, 2, 3, 4, 5, 6)), "nearly as many")
	assert.False(t, all.surpasses(followed(7, 8, 9, 10)), "others")
	back := followed(1, 3, 5, 7)
	back.ux = -back.ux
	assert.False(t, all.surpasses(back), "they go the other way")
	gone := followed(1, 3, 5, 7)
	gone.ux, gone.uy = 0, 0
	assert.False(t, all.surpasses(gone), "seen to go only")
}
