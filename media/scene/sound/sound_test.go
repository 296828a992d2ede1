package sound_test

import (
	"bytes"
	"encoding/binary"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/media/scene/sound"
	"netreel/media/scene/space"
)

func samples(t require.TestingT, k sound.Track) []float32 {
	var all []float32
	require.NoError(t, k.Stream(func(s []float32) error {
		all = append(all, s...)
		return nil
	}))
	return all
}

// quiet is a track without a bed, so that the first sample that is not zero is
// the event's.
func quiet(seconds float64, events ...sound.Event) sound.Track {
	return sound.Track{Seconds: seconds, Air: 343, Gain: 1, Events: events, Seed: 5}
}

// At 343 m/s sound takes 5.8 ms for 2 m, 23.3 for 8, 29.2 for 10, 43.7 for 15
// and 58.3 for 20 (arithmetic: distance over speed).
func TestSoundIsLateByItsWay(t *testing.T) {
	for metres, ms := range map[float64]float64{2: 5.8, 8: 23.3, 10: 29.2, 15: 43.7, 20: 58.3} {
		with := samples(t, quiet(1, sound.Event{At: 0.5, From: space.V{X: metres}, Kind: sound.Bat, Loud: 1}))
		without := samples(t, quiet(1))
		first := -1
		for i := range with {
			if math.Abs(float64(with[i]-without[i])) > 1e-4 {
				first = i
				break
			}
		}
		require.InDelta(t, 500+ms, float64(first)/sound.Rate*1000, 0.15, "%v m", metres)
	}
}

func TestLoudnessFallsWithDistanceAndKind(t *testing.T) {
	peak := func(e sound.Event) float64 {
		e.At = 0.2
		top := 0.0
		for _, s := range samples(t, quiet(0.8, e)) {
			top = max(top, math.Abs(float64(s)))
		}
		return top
	}
	at := func(m float64) space.V { return space.V{X: m} }
	near := peak(sound.Event{Kind: sound.Bat, From: at(8), Loud: 1})
	require.Greater(t, near, 0.4)
	require.InDelta(t, 2, near/peak(sound.Event{Kind: sound.Bat, From: at(16), Loud: 1}), 0.8, "about 1/r")
	require.Less(t, peak(sound.Event{Kind: sound.Bat, From: at(12), Loud: 1, Muffled: true}), near/3, "the next net")
	require.Less(t, peak(sound.Event{Kind: sound.Edge, From: at(8), Loud: 1}), near)
	require.Less(t, peak(sound.Event{Kind: sound.Bounce, From: at(8), Loud: 1}), near/2)
}

func TestWaveFile(t *testing.T) {
	k := quiet(0.25, sound.Event{At: 0.1, From: space.V{X: 3}, Kind: sound.Stumps, Loud: 1})
	var b bytes.Buffer
	require.NoError(t, k.WriteWAV(&b))
	w := b.Bytes()
	le := binary.LittleEndian
	// The canonical WAVE header (Multimedia Programming Interface and Data
	// Specifications 1.0, 1991).
	require.Equal(t, "RIFF", string(w[:4]))
	require.EqualValues(t, len(w)-8, le.Uint32(w[4:]))
	require.Equal(t, "WAVEfmt ", string(w[8:16]))
	require.EqualValues(t, 1, le.Uint16(w[20:]), "PCM")
	require.EqualValues(t, 1, le.Uint16(w[22:]), "mono")
	require.EqualValues(t, 48000, le.Uint32(w[24:]))
	require.EqualValues(t, 96000, le.Uint32(w[28:]))
	require.EqualValues(t, 16, le.Uint16(w[34:]))
	require.EqualValues(t, 12000*2, le.Uint32(w[40:]))
	require.Len(t, w, 44+12000*2)
}

func TestNothingClipsAndTheSeedDecides(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := quiet(0.2)
		k.Gain = rapid.Float64Range(0.2, 20).Draw(t, "gain")
		k.Hall, k.Wind = rapid.Float64Range(0, 1).Draw(t, "hall"), rapid.Float64Range(0, 1).Draw(t, "wind")
		k.Seed = rapid.Uint64().Draw(t, "seed")
		for range rapid.IntRange(0, 6).Draw(t, "events") {
			k.Events = append(k.Events, sound.Event{
				At: rapid.Float64Range(0, 0.2).Draw(t, "at"), From: space.V{X: rapid.Float64Range(0, 30).Draw(t, "x")},
				Kind: sound.Kind(rapid.IntRange(0, int(sound.Talk)).Draw(t, "kind")), Loud: 1, Seconds: 0.3, Seed: rapid.Uint64().Draw(t, "event"),
			})
		}
		a, b := samples(t, k), samples(t, k)
		require.Equal(t, a, b)
		require.Len(t, a, sound.Rate/5)
		for _, s := range a {
			require.LessOrEqual(t, math.Abs(float64(s)), 1.0)
		}
	})
}
