package split

import (
	"context"
	"math"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
)

// broken is footage that can be wrong in every way.
type broken struct {
	sound    []float32 // 16 kHz; what comes after it is missing
	packets  func(fn func(media.Micros, int, bool) error) error
	pictures func(within media.Span, size int, fn func(media.Micros, []byte) error) error
}

func (b broken) Sound(_ context.Context, _ int, fn func([]float32) error) error {
	for i := 0; i < len(b.sound); i += 1 << 14 {
		if err := fn(b.sound[i:min(i+1<<14, len(b.sound))]); err != nil {
			return err
		}
	}
	return nil
}

func (b broken) Packets(_ context.Context, fn func(media.Micros, int, bool) error) error {
	if b.packets == nil {
		return nil
	}
	return b.packets(fn)
}

func (b broken) Pictures(_ context.Context, within media.Span, width, height int, _ float64, fn func(at media.Micros, grey, blue, red []byte) error) error {
	if b.pictures == nil {
		return nil
	}
	return b.pictures(within, width*height, func(at media.Micros, grey []byte) error { return fn(at, grey, nil, nil) })
}

func evenly(seconds, fps float64, size int) func(fn func(media.Micros, int, bool) error) error {
	return func(fn func(media.Micros, int, bool) error) error {
		for i := range int(seconds * fps) {
			if err := fn(media.FromSeconds(float64(i)/fps), size, i%int(fps) == 0); err != nil {
				return err
			}
		}
		return nil
	}
}

// black shows black pictures, five a second.
func black(within media.Span, size int, fn func(media.Micros, []byte) error) error {
	grey := make([]byte, size)
	for at := within.Start; at < within.End; at += media.Second / 5 {
		if err := fn(at, grey); err != nil {
			return err
		}
	}
	return nil
}

// splitBroken splits it; whatever is wrong, the result is lawful.
func splitBroken(t *testing.T, f Footage, p media.Probe) Result {
	t.Helper()
	r, err := Find(context.Background(), f, p, Watch{})
	require.NoError(t, err)
	lawful(t, r, p.Duration)
	return r
}

func noted(r Result, word string) bool { return strings.Contains(strings.Join(r.Notes, " "), word) }

func TestBadSilentTrack(t *testing.T) {
	r := splitBroken(t, broken{sound: make([]float32, 60*soundRate), packets: evenly(60, 25, 3000), pictures: black},
		media.Probe{AudioCodec: "aac", Width: 640, Height: 360, FrameRate: 25, Duration: 60 * media.Second})
	assert.Empty(t, r.Deliveries)
	assert.True(t, noted(r, "silent"), "%q", r.Notes)
	assert.True(t, noted(r, "black") || noted(r, "does not move"), "%q", r.Notes)
}

func TestBadClippedTrack(t *testing.T) {
	w := newWorld(setting{seed: 910, minutes: 1.5, gap: 7, distance: 5, noise: -40, fps: 25, clip: true, talk: 0.2, talkLevel: -6})
	r, err := Find(context.Background(), w, w.probe(), Watch{})
	require.NoError(t, err)
	assert.True(t, noted(r, "clipped"), "%q", r.Notes)
	assert.GreaterOrEqual(t, Score(r.Deliveries, w.truth(), media.Second/4).F1, 0.8)
}

func TestBadSamples(t *testing.T) {
	sound := make([]float32, 30*soundRate)
	for i := range sound {
		sound[i] = []float32{float32(math.NaN()), float32(math.Inf(1)), 1e30, 0}[i/1000%4]
	}
	splitBroken(t, broken{sound: sound, packets: evenly(30, 25, 3000), pictures: black},
		media.Probe{AudioCodec: "aac", Width: 640, Height: 360, FrameRate: 25, Duration: 30 * media.Second})
}

func TestBadVariableRate(t *testing.T) {
	w := newWorld(setting{seed: 911, minutes: 1.5, gap: 7, distance: 5, noise: -45, fps: 60, vary: true, grain: 1})
	r, err := Find(context.Background(), w, w.probe(), Watch{})
	require.NoError(t, err)
	assert.GreaterOrEqual(t, Score(r.Deliveries, w.truth(), media.Second/4).F1, 0.9)
}

// TestBadTimeStamps lets packets and pictures jump back, repeat, lie before
// the file and years after it.
func TestBadTimeStamps(t *testing.T) {
	jumps := []media.Micros{0, -5 * media.Second, 3, 3, math.MaxInt64 / 2, math.MinInt64 / 2, 20 * media.Second, 19 * media.Second}
	f := broken{
		packets: func(fn func(media.Micros, int, bool) error) error {
			for i := range 4000 {
				at := jumps[i%len(jumps)]
				if i%3 == 0 {
					at = media.Micros(i) * 15_000
				}
				if err := fn(at, (i*7919)%60000-10, i%25 == 0); err != nil {
					return err
				}
			}
			return nil
		},
		pictures: func(within media.Span, size int, fn func(media.Micros, []byte) error) error {
			grey := make([]byte, size)
			for i := range 60 {
				grey[i*37%size] += 90
				at := within.Start + media.Micros(i)*40_000
				if i%5 == 0 {
					at = jumps[i/5%len(jumps)]
				}
				if err := fn(at, grey); err != nil {
					return err
				}
			}
			return fn(within.End, grey[:size/2]) // a torn one
		},
	}
	r := splitBroken(t, f, media.Probe{Width: 640, Height: 360, FrameRate: 25, Duration: 60 * media.Second})
	assert.True(t, noted(r, "times outside the recording"), "%q", r.Notes)
}

// TestBadGaps has a picture that is missing for a while and sound that ends early.
func TestBadGaps(t *testing.T) {
	w := newWorld(setting{seed: 913, minutes: 1.5, gap: 7, distance: 5, noise: -45, fps: 25})
	f := broken{sound: w.sound[:70*soundRate], pictures: black, packets: func(fn func(media.Micros, int, bool) error) error {
		return evenly(90, 25, 3000)(func(at media.Micros, size int, key bool) error {
			if at > 20*media.Second && at < 33*media.Second {
				return nil
			}
			return fn(at, size, key)
		})
	}}
	r := splitBroken(t, f, w.probe())
	assert.True(t, noted(r, "sound ends at 1:10"), "%q", r.Notes)
	assert.True(t, noted(r, "no pictures from 0:21 to 0:33"), "%q", r.Notes)
}

func TestBadBlackPicture(t *testing.T) {
	w := newWorld(setting{seed: 912, minutes: 1.5, gap: 7, distance: 5, noise: -45, fps: 25})
	r := splitBroken(t, broken{sound: w.sound, packets: evenly(90, 25, 40), pictures: black}, w.probe())
	assert.True(t, noted(r, "black"), "%q", r.Notes)
	s := Score(r.Deliveries, w.truth(), media.Second/4)
	assert.GreaterOrEqual(t, s.Recall, 0.9, "sound alone tells")
	assert.GreaterOrEqual(t, s.Precision, 0.9)
}

func TestBadNoPicturesAtAll(t *testing.T) {
	w := newWorld(setting{seed: 913, minutes: 1, gap: 7, distance: 5, noise: -45, fps: 25})
	p := w.probe()
	p.Width, p.Height, p.FrameRate = 0, 0, 0
	r := splitBroken(t, broken{sound: w.sound}, p)
	assert.NotEmpty(t, r.Deliveries)
}

func TestBadTenSeconds(t *testing.T) {
	w := newWorld(setting{seed: 914, minutes: 10.0 / 60, gap: 4, distance: 5, noise: -45, fps: 50, grain: 1})
	require.NotEmpty(t, w.balls)
	splitBroken(t, w, w.probe())
	w.mute = true
	splitBroken(t, w, w.probe())
}

// TestBadEightHours splits eight hours whose sound ends after ten minutes.
func TestBadEightHours(t *testing.T) {
	const hours = 8 * 3600
	w := newWorld(setting{seed: 915, minutes: 10, gap: 9, distance: 6, noise: -45, fps: 25})
	var looked atomic.Int64 // stretches are read side by side
	f := broken{sound: w.sound, packets: evenly(hours, 25, 3000), pictures: func(within media.Span, size int, fn func(media.Micros, []byte) error) error {
		looked.Add(int64(within.Length()))
		return black(within, size, fn)
	}}
	p := w.probe()
	p.Duration = hours * media.Second
	r := splitBroken(t, f, p)
	assert.GreaterOrEqual(t, Score(r.Deliveries, w.truth(), media.Second/4).Recall, 0.9)
	assert.Less(t, media.Micros(looked.Load()), 20*60*media.Second, "the cost goes with the balls")
}
