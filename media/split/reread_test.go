package split

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
)

// dull is a session of 80 s in which a sound every eight seconds is by so many
// log odds a bat's.
func dull(odds float64) *session {
	s := newSession(media.Probe{Duration: 80 * media.Second}, &ear{loudest: 0}, &stir{})
	for at := 4.0; at < 80; at += 8 {
		s.onsets = append(s.onsets, onset{at: at})
		s.first = append(s.first, odds)
	}
	return s
}

func TestSoundsAreLentWhatTheyWant(t *testing.T) {
	assert.Zero(t, dull(3).wanting(), "enough is heard")
	faint, fainter := dull(-2).wanting(), dull(-3).wanting()
	assert.Greater(t, faint, 1.0)
	assert.InDelta(t, faint+1, fainter, lendStep, "a log odd less, a log odd more")
	assert.Equal(t, lendMost, dull(-20).wanting(), "and never without measure")

	heeded := dull(-2)
	heeded.heeded = true
	assert.Zero(t, heeded.wanting(), "balls to learn from were heard")
	mute := dull(-2)
	mute.heard.loudest = silenceDB
	assert.Zero(t, mute.wanting(), "there is nothing to hear")
}

// found is a session of so many balls, of each of which this was seen to fly.
func found(balls int, flight float64) *session {
	s := &session{}
	for i := range balls {
		s.moments = append(s.moments, moment{at: float64(8 * i), chosen: true, onset: -1, here: 0.9, clues: clues{flight: flight}})
	}
	return s
}

func TestReadingByEarMustFindMore(t *testing.T) {
	assert.True(t, found(8, 0).outdoes(found(3, 2)))
	assert.False(t, found(8, 0).outdoes(found(7, 2)), "hardly more")
	blank := found(8, 0)
	blank.against.blank = 2
	assert.False(t, blank.outdoes(found(3, 2)), "the pictures do not tell them from other moments")
	assert.True(t, told(12, 4, 0).outdoes(told(9, 5, 0)), "told nearly as surely")
	assert.False(t, told(12, 4, 0).outdoes(told(9, 5.5, 0)), "told less surely")
	nextDoor := &session{against: against{nextDoor: besideMost}}
	assert.True(t, told(8, 1.1*siftBelow, 0).outdoes(nextDoor))
	assert.False(t, told(8, 0.9*siftBelow, 0).outdoes(nextDoor), "hardly told, where the next net's were seen")
}

func TestLentBallsMustBeBorneOut(t *testing.T) {
	assert.True(t, found(8, 2).borneOut(), "they are seen to fly")
	assert.False(t, found(8, 0.5).borneOut(), "that is not clear")
	assert.False(t, found(3, 4).borneOut(), "too few")
	assert.False(t, found(0, 0).borneOut(), "none")
}

// told is found so much late, the balls' looks so many common standard deviations off
// those of other moments.
func told(balls int, apart, late float64) *session {
	s := found(balls, 0)
	for i := range s.moments {
		s.moments[i].at += late
	}
	s.sight = &sight{}
	for i := range 10 {
		for part := range s.sight.fits { // a standard deviation of a half
			s.sight.fits[part].yes.add(float64(i%2)+apart/4, 1)
			s.sight.fits[part].no.add(float64(i%2), 1)
		}
	}
	return s
}

func TestSiftedBallsMustBeClearer(t *testing.T) {
	before := told(9, 3, 0)
	require.InDelta(t, 3, before.apart(), 1e-9)
	require.InDelta(t, 3*3, before.telling(), 0.5, "nine balls, each nearly sure")
	assert.True(t, told(9, 3.2*siftMore, 4).clearer(before))
	assert.False(t, told(9, 2.8*siftMore, 4).clearer(before), "hardly")
	assert.True(t, told(4, 5*siftMore, 4).clearer(before), "fewer, but surer")
	assert.False(t, told(4, 4*siftMore, 4).clearer(before), "fewer, and not surer by as much")
	assert.False(t, told(3, 9*siftMore, 4).clearer(before), "too few")
	blank := told(9, 3.2*siftMore, 4)
	blank.against.blank = 1
	assert.False(t, blank.clearer(before), "the pictures show no ball")
	assert.False(t, told(9, 2.9*siftByFar, 0.1).clearer(before), "the same balls")
	assert.True(t, told(9, 3.1*siftByFar, 0.1).clearer(before), "the same balls, but by far")
	assert.True(t, told(9, 3, 4).clearer(&session{}), "rather than nothing")
}

func TestLentBallsMustBeMore(t *testing.T) {
	assert.True(t, found(8, 2).bearsOutMore(found(6, 2)))
	assert.False(t, found(8, 2).bearsOutMore(found(7, 2)), "hardly more")
	assert.False(t, found(8, 2).bearsOutMore(found(8, 0)), "no more")
	assert.False(t, found(8, 0.5).bearsOutMore(found(6, 2)), "they are not seen to fly")
	assert.True(t, told(8, 1.1*lentTells, 0).bearsOutMore(found(6, 0)), "but look alike beyond doubt")
	assert.False(t, told(8, 0.9*lentTells, 0).bearsOutMore(found(6, 0)))
	nextDoor := told(8, 1.1*lentTells, 0)
	nextDoor.against.nextDoor = 1
	assert.False(t, nextDoor.bearsOutMore(found(6, 0)), "they may be the next net's")
}
