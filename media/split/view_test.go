package split

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"netreel/media"
)

// TestStretchesBeginAtKeyFrames has a key frame every three seconds, from each of which
// a picture is certain a little later.
func TestStretchesBeginAtKeyFrames(t *testing.T) {
	var s stir
	for k := range 600 {
		s.add(media.FromSeconds(float64(k)/10), 1000, k%30 == 0)
	}
	const key = 3.0
	for name, c := range map[string]struct {
		seen  views
		times []float64
		want  [][2]float64
	}{
		"what is decoded anyway is looked at": {nil, []float64{2*key - 1}, [][2]float64{{key + startSlack, 2*key - 1 + viewAfter}}},
		"not twice":                           {nil, []float64{2*key - 1, 3*key - 0.8}, [][2]float64{{key + startSlack, 3*key - 0.8 + viewAfter}}},
		"nor what was seen": {views{{from: key, to: 2*key - 0.5}}, []float64{3*key - 1.8},
			[][2]float64{{2*key - 0.5, 3*key - 1.8 + viewAfter}}},
		"but with what leads up to it": {views{{from: key, to: 2 * key}}, []float64{2*key + 0.5},
			[][2]float64{{2*key + 0.5 - viewBefore, 2*key + 0.5 + viewAfter}}},
		"the beginning": {nil, []float64{1}, [][2]float64{{0, 1 + viewAfter}}},
	} {
		got := c.seen.stretches(c.times, 60, s.start)
		if assert.Len(t, got, len(c.want), name) {
			for i := range got {
				assert.InDeltaSlice(t, c.want[i][:], got[i][:], 1e-6, name)
			}
		}
	}
	assert.InDelta(t, 100.0, s.start(100), 1e-9, "too far from the last key frame")
	assert.InDelta(t, 5.0, (&stir{}).start(5), 1e-9, "no key frame is known")

	searched := &session{seconds: lookShort + 1, heedless: true, packets: &s}
	assert.InDelta(t, key+startSlack, searched.begins(2*key-1), 1e-9)
	heard, short := *searched, *searched
	heard.heedless, short.seconds = false, lookShort
	for _, s := range []session{heard, short} {
		assert.InDelta(t, 2*key-1, s.begins(2*key-1), 1e-9, "a window shows what it is asked for")
	}

	var all stir
	for k := range 600 {
		all.add(media.FromSeconds(float64(k)/60), 1000, true)
	}
	assert.LessOrEqual(t, len(all.starts), 21, "of pictures stored each by itself few are kept")
}
