package split

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestBallsThatBounceNeedNotLookAlike has pictures that tell nothing of what was taken
// for balls: that speaks against them, unless most of them were seen to bounce.
func TestBallsThatBounceNeedNotLookAlike(t *testing.T) {
	same := contrast{}
	for i := range 10 {
		same.yes.add(float64(i%2), 1)
		same.no.add(float64(i%2), 1)
	}
	stirs := make(curve, 60)
	stirs[30] = 1
	blank := func(bounced int) float64 {
		g := &grid{learnt: true}
		s := &session{motion: stirs, sight: &sight{folds: []*grid{g, g, g, g}, fits: [2]contrast{same, same}}}
		s.way = &way{passes: make([]pass, 10), bounced: make([]bounce, bounced)}
		return s.speaksAgainst(newEye(1280, 720)).odds()
	}
	assert.InDelta(t, blankMost, blank(0), 1e-6)
	assert.InDelta(t, blankMost, blank(3), 1e-6, "too few of them")
	assert.Zero(t, blank(5))
}

// TestWhatAWayDoesNotShowCounts has balls that were seen to come and bats on whose way
// nothing was seen: they are not taken for balls, but tell that the way hides some.
func TestWhatAWayDoesNotShowCounts(t *testing.T) {
	bat := func(at float64, score float64, chosen bool, flight float64) moment {
		return moment{at: at, struck: true, score: score, chosen: chosen, clues: clues{seen: true, flight: flight}}
	}
	s := &session{learnt: 1000, moments: []moment{
		bat(10, 4, true, 4), bat(20, 4, true, 4), bat(20.4, -0.5, false, -2), // beside a ball
		bat(30, -0.5, false, -2), bat(30.3, -0.5, false, -2), // of one ball
		bat(40, -9, false, -2), // it hardly sounds like one
		bat(50, -3, false, 4),  // one was seen
	}}
	// What is left without its flight: -0.5 less half of -2.
	assert.InDelta(t, sigmoid(0.5), s.missedBy([]anchor{{at: 10}, {at: 20}}), 0.01)
}

// TestOtherNetsBats: where bats had to be sifted by pictures, the best sound is not
// enough.
func TestOtherNetsBats(t *testing.T) {
	bat := clues{seen: true, crack: 4, colour: 3, company: 1, shot: 1}
	own, other := bat, bat
	own.feedIn, own.shotIn = 2, 2
	other.feedIn, other.shotIn = -1, -1
	s := &session{learnt: 20}
	assert.Positive(t, s.weigh(other, true))
	s.sifting = true
	assert.Negative(t, s.weigh(other, true))
	assert.Positive(t, s.weigh(own, true))
}
