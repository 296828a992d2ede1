package split

import (
	"testing"

	"github.com/stretchr/testify/assert"

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
	blank.blank = 2
	assert.False(t, blank.outdoes(found(3, 2)), "the pictures do not tell them from other moments")
}

func TestLentBallsMustBeBorneOut(t *testing.T) {
	assert.True(t, found(8, 2).borneOut(), "they are seen to fly")
	assert.False(t, found(8, 0.5).borneOut(), "that is not clear")
	assert.False(t, found(3, 4).borneOut(), "too few")
	assert.False(t, found(0, 0).borneOut(), "none")
}
