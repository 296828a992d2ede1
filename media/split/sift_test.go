package split

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// busyNets are three nets whose bats sound alike. At one's own the picture moves in the
// middle, and somebody bowls before. Feet are heard as likely a bat, just before each of
// one's own. If shown, the next net's batter and bowler are seen at the side, more often.
func busyNets(shown bool) (s *session, e *eye, own map[float64]bool) {
	const (
		seconds, fps     = 120.0, 25
		cell, bowler     = 4*16 + 7, 7*16 + 8
		theirs, opponent = 4*16 + 3, 7*16 + 2
	)
	r := rand.New(rand.NewPCG(7, 1))
	e = newEye(1280, 720)
	v := &view{from: 0, to: seconds, width: 256, height: 144, cells: e.cells(), channels: channelsOf(e)}
	for i := range int(seconds * fps) {
		v.times = append(v.times, float64(i)/fps)
		row := make([]byte, v.channels)
		for c := range v.cells {
			row[c] = byte(20 + r.IntN(12))
		}
		v.rows = append(v.rows, row...)
	}
	stir := func(at float64, c int) {
		for i := int((at - 0.08) * fps); i <= int((at+0.08)*fps); i++ {
			v.rows[i*v.channels+c] = 150
		}
	}
	s = &session{seconds: seconds, views: views{v}}
	own = map[float64]bool{}
	hear := func(at float64) {
		s.onsets, s.first = append(s.onsets, onset{at: at}), append(s.first, 1+r.Float64())
	}
	next := func(at float64) {
		hear(at)
		if shown {
			stir(at-0.6, opponent)
			stir(at, theirs)
		}
	}
	for at := 4.0; at < seconds-10; at += 10 {
		at += r.Float64()
		stir(at-0.6, bowler)
		stir(at, cell)
		own[at] = true
		hear(at - 0.35)
		hear(at)
		next(at + 2.5 + r.Float64())
		next(at + 5 + r.Float64())
	}
	return s, e, own
}

func TestOwnBatIsToldByPictures(t *testing.T) {
	for _, shown := range []bool{false, true} {
		s, e, own := busyNets(shown)
		heard := s.batLike()
		require.Len(t, heard, len(s.onsets))
		times := make([]float64, len(heard))
		for k, i := range heard {
			times[k] = s.onsets[i].at
		}
		empty := s.apartFrom(times)
		require.NotEmpty(t, empty)
		for _, x := range empty {
			for _, at := range times {
				assert.Greater(t, max(x.at-at, at-x.at), siftEmpty)
			}
		}
		for k, p := range s.tellOwn(e, heard, empty) {
			assert.Equal(t, own[times[k]], p > 0.5, "next net shown %v, %.2f s: %.2f", shown, times[k], p)
		}
	}
}

func TestWhatEndsElsewhereIsNotBelieved(t *testing.T) {
	start := []float64{swingSure, swingSure, swingNot, swingNot, swingNot, swingNot}
	assert.True(t, stays([]float64{1, 1, 1, 0, 0, 0}, start), "one more was found")
	assert.False(t, stays([]float64{1, 0, 1, 1, 1, 1}, start), "others have taken over")
}

func TestSiftedSoundsCountAsHeard(t *testing.T) {
	s := &session{first: []float64{-5, -4, -3, -9, 2}}
	s.lend([]int{0, 1, 2})
	assert.Equal(t, []float64{-1, 0, 1, -5, 6}, s.first)
	s.lend([]int{2, 4})
	assert.Equal(t, []float64{-1, 0, 1, -5, 6}, s.first, "they are heard well enough")
}

// TestSoundsAtShadowShotsAreNoBats has sounds at a shot of which most are like a bat, and
// those of talk, of which one is by chance.
func TestSoundsAtShadowShotsAreNoBats(t *testing.T) {
	s := &session{first: []float64{-4, -0.5, 1, 2, -5, -4.5, 1}, onsets: make([]onset, 7)}
	p := []float64{0.9, 0.9, 0.8, 0.2, 0.9, 0.9, 0.1}
	assert.Nil(t, s.ownBats([]int{0, 1, 4, 5}, []float64{0.9, 0.9, 0.9, 0.9}))
	assert.Empty(t, s.own)
	assert.Equal(t, []int{0, 1, 2}, s.ownBats([]int{0, 1, 2, 3}, p))
	assert.Len(t, s.own, 3)
	assert.Nil(t, s.ownBats(nil, nil))
}

func TestSoundIsNoLikelierOwnThanItLooks(t *testing.T) {
	s := &session{learnt: 20, sifting: true}
	assert.Less(t, s.amongOthers(9, clues{}, true), 0.0, "two of three bats are other nets'")
	seen := s.amongOthers(9, clues{feedIn: 3, shotIn: 3}, true)
	assert.Greater(t, seen, 3.0)
	assert.Less(t, s.amongOthers(1, clues{feedIn: 3, shotIn: 3}, true), seen)
	assert.Equal(t, 1-siftUnseen, s.amongOthers(1, clues{feedIn: 3}, false), "neither heard nor seen to fly")
	s.way = &way{}
	assert.Equal(t, 1.0, s.amongOthers(1, clues{feedIn: 3}, false))
}
