package split

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestOwnBatIsToldByPictures has three nets whose bats sound alike. Only at one's own
// does the picture move in the middle, and somebody bowls before. Feet that are heard
// as likely a bat, just before each of one's own, are not taken for it.
func TestOwnBatIsToldByPictures(t *testing.T) {
	const seconds, fps, cell, bowler = 120.0, 25, 71, 120
	r := rand.New(rand.NewPCG(7, 1))
	e := newEye(1280, 720)
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
	s := &session{seconds: seconds, views: views{v}}
	own := map[float64]bool{}
	hear := func(at float64) {
		s.onsets, s.first = append(s.onsets, onset{at: at}), append(s.first, 1+r.Float64())
	}
	for at := 4.0; at < seconds-10; at += 10 {
		at += r.Float64()
		stir(at-0.6, bowler)
		stir(at, cell)
		own[at] = true
		hear(at - 0.35)
		hear(at)
		hear(at + 2.5 + r.Float64())
		hear(at + 5 + r.Float64())
	}
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
	for k, p := range s.tellOwn(v.channels, heard, empty) {
		assert.Equal(t, own[times[k]], p > 0.5, "%.2f s: %.2f", times[k], p)
	}
}
