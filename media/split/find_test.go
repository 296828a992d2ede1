package split

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
)

// judge splits an invented session and scores it.
func judge(t *testing.T, s setting) (Result, Scorecard) {
	t.Helper()
	w := newWorld(s)
	r, err := Find(context.Background(), w, w.probe(), Watch{})
	require.NoError(t, err)
	lawful(t, r, w.probe().Duration)
	return r, Score(r.Deliveries, w.truth(), media.Second*35/100)
}

// lawful checks what must hold of every result.
func lawful(t assert.TestingT, r Result, duration media.Micros) {
	last := media.Micros(0)
	above := r.Above(r.Cut)
	assert.Equal(t, len(r.Deliveries), len(above))
	for i, d := range r.Deliveries {
		assert.Equal(t, d, above[i].Delivery)
		assert.GreaterOrEqual(t, d.Start, last, "in order and not overlapping")
		assert.Less(t, d.Start, d.End)
		assert.GreaterOrEqual(t, d.Confidence, r.Cut)
		if d.Contact != nil {
			assert.True(t, d.Span().Contains(*d.Contact), "contact inside the ball")
		}
		last = d.End
	}
	last = 0
	for _, b := range r.Balls {
		assert.True(t, b.Confidence >= leastSure && b.Confidence <= 1, "confidence %v", b.Confidence)
		assert.True(t, b.Struck >= 0 && b.Struck <= 1, "struck %v", b.Struck)
		assert.True(t, b.Passing >= b.Start && b.Passing <= b.End)
		assert.True(t, b.Start >= 0 && b.End <= duration, "inside the file")
		assert.GreaterOrEqual(t, b.Passing, last, "in order")
		last = b.Passing
	}
}

func TestFindPlainSession(t *testing.T) {
	_, s := judge(t, setting{seed: 900, minutes: 4, gap: 7, distance: 8, noise: -45, echo: 0.3, fps: 50, grain: 1})
	assert.GreaterOrEqual(t, s.F1, 0.97)
	assert.Less(t, s.ContactMedian, media.Second*40/1000, "the sound's way of 8 m included")
}

func TestFindSilence(t *testing.T) {
	w := newWorld(setting{seed: 901, minutes: 1, gap: 1e6, noise: -50, fps: 50, grain: 2})
	require.LessOrEqual(t, len(w.balls), 1)
	w.balls = nil
	w.sound = make([]float32, len(w.sound))
	r, err := Find(context.Background(), w, w.probe(), Watch{})
	require.NoError(t, err)
	assert.Empty(t, r.Deliveries)
}

func TestFindTooShort(t *testing.T) {
	r, err := Find(context.Background(), nil, media.Probe{Duration: media.Second / 2}, Watch{})
	require.NoError(t, err)
	assert.Empty(t, r.Deliveries)
	assert.NotEmpty(t, r.Notes)
}

func TestFindPassesErrorsOn(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	w := newWorld(setting{seed: 902, minutes: 0.5, gap: 6, fps: 25})
	_, err := Find(ctx, w, w.probe(), Watch{})
	assert.True(t, errors.Is(err, context.Canceled))
}

// TestFindScenes splits drawn sessions of every sort: those that the split was
// tuned on, and those it has never seen. The bounds are what a change must not
// fall below, not what is wished for.
func TestFindScenes(t *testing.T) {
	const scenes = 2
	mean := func(draw func(int) setting) (sum float64) {
		for i := range scenes {
			_, s := judge(t, draw(i))
			t.Logf("scene %d: recall %.2f, precision %.2f", i, s.Recall, s.Precision)
			sum += s.F1 / scenes
		}
		return sum
	}
	assert.GreaterOrEqual(t, mean(tuningScene), 0.9, "tuned on")
	assert.GreaterOrEqual(t, mean(judgingScene), 0.85, "never seen")
}

// watched says of footage whether a picture of it was asked for.
type watched struct {
	Footage
	seen atomic.Bool
}

func (u *watched) Pictures(ctx context.Context, within media.Span, width, height int, fps float64, fn func(at media.Micros, grey, blue, red []byte) error) error {
	u.seen.Store(true)
	return u.Footage.Pictures(ctx, within, width, height, fps, fn)
}

func TestWhatIsHeardIsToldBeforeAPictureIsSeen(t *testing.T) {
	w := newWorld(setting{seed: 902, minutes: 2, gap: 7, distance: 8, noise: -45, echo: 0.3, fps: 50, grain: 1})
	f := &watched{Footage: w}
	var heard []Result
	asked, err := Find(t.Context(), f, w.probe(), Watch{Heard: func(r Result) error {
		assert.False(t, f.seen.Load())
		heard = append(heard, r)
		return nil
	}})
	require.NoError(t, err)
	require.True(t, f.seen.Load())
	require.Len(t, heard, 1)
	lawful(t, heard[0], w.probe().Duration)
	s := Score(heard[0].Deliveries, w.truth(), media.Second*35/100)
	assert.GreaterOrEqual(t, s.F1, 0.9)
	assert.Equal(t, asked.Sound, heard[0].Sound)

	unasked, err := Find(t.Context(), w, w.probe(), Watch{})
	require.NoError(t, err)
	assert.Equal(t, unasked, asked, "what is found does not depend on who listens")

	broken := errors.New("no room")
	_, err = Find(t.Context(), w, w.probe(), Watch{Heard: func(Result) error { return broken }})
	assert.ErrorIs(t, err, broken)
}

func TestNothingIsToldWhereNothingIsHeard(t *testing.T) {
	w := newWorld(setting{seed: 903, minutes: 1, gap: 7, noise: -50, fps: 50, grain: 1})
	w.sound = make([]float32, len(w.sound))
	_, err := Find(t.Context(), w, w.probe(), Watch{Heard: func(Result) error {
		assert.Fail(t, "told")
		return nil
	}})
	require.NoError(t, err)
}
