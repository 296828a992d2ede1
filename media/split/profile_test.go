package split_test

import (
	"encoding/json"
	"log/slog"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/ffmpeg"
	"netreel/media/scene/plain"
	"netreel/media/split"
)

// position is a camera position: sessions there differ in their balls alone.
type position struct {
	plain.Setting
	tool *ffmpeg.Tool
}

func newPosition(t *testing.T, s plain.Setting) position {
	t.Helper()
	tool, err := ffmpeg.Find(slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	s.Width, s.Height, s.Grain, s.Style = 426, 240, 2, plain.Limbs
	return position{s, tool}
}

// session is footage of another session at a position.
type session struct {
	position
	world *plain.World
	path  string
}

func (p position) session(t *testing.T, seed uint64, seconds float64) session {
	t.Helper()
	p.Seed, p.Seconds = seed, seconds
	w := plain.New(p.Setting, plain.Load(fstest.MapFS{}))
	return session{p, w, film(t, p.tool, w)}
}

// split splits a session and says how well that went. Balls that were not
// struck must agree to half a second.
func (s session) split(t *testing.T, p *split.Profile) (split.Result, split.Scorecard) {
	t.Helper()
	probe, err := s.tool.Probe(t.Context(), s.path)
	require.NoError(t, err)
	r, err := split.Refine(t.Context(), s.tool.File(s.path), probe, split.Hints{Profile: p}, split.Watch{})
	require.NoError(t, err)
	mark := func(at media.Micros, struck bool) media.Delivery {
		d := media.Delivery{Start: at - media.Second/2, End: at + media.Second/2}
		if struck {
			d.Contact = &at
		}
		return d
	}
	var truth, found []media.Delivery
	for _, b := range s.world.Balls {
		truth = append(truth, mark(media.FromSeconds(b.Passing), b.Struck))
	}
	for _, b := range r.Above(r.Cut) {
		found = append(found, mark(b.Passing, b.Contact != nil))
	}
	return r, split.Score(found, truth, media.Second/4)
}

// taught is what a session taught, as it comes back from where it is kept.
func (s session) taught(t *testing.T) *split.Profile {
	t.Helper()
	r, score := s.split(t, nil)
	require.GreaterOrEqual(t, score.F1, 0.9, "a session to learn from")
	raw, err := json.Marshal(r.Profile)
	require.NoError(t, err)
	assert.Less(t, len(raw), 2048, "small")
	var p split.Profile
	require.NoError(t, json.Unmarshal(raw, &p))
	require.Equal(t, r.Profile, p)
	return &p
}

// TestProfileMakesShortFilmsEasy has films of a few balls with nothing to learn
// from: too few, and unheard or among other noises as loud.
func TestProfileMakesShortFilmsEasy(t *testing.T) {
	for _, test := range []struct {
		name    string
		at      plain.Setting
		first   float64 // s of the session that is learnt from
		next    float64
		without float64 // F1 at most, so that the test keeps a case worth having
	}{
		{"from the side, no sound", plain.Setting{Seed: 7110, Gap: 7, FPS: 30, Ball: 0.012, Mute: true, Shadows: 0.3}, 70, 24, 0.6},
		{"behind the batter, no sound", plain.Setting{Seed: 7310, Gap: 7, FPS: 30, View: plain.BehindBatter, Feed: plain.Bowler, Ball: 0.012, Mute: true}, 70, 24, 0.6},
		{"talk and claps", plain.Setting{Seed: 7610, Gap: 7, Left: 0.2, FPS: 30, Ball: 0.011, Spread: 3, Distance: 8, Noise: -36,
			Talk: 0.5, TalkLevel: 1, Claps: 6, Shadows: 0.4}, 70, 24, 0.7},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			at := newPosition(t, test.at)
			known := at.session(t, test.at.Seed, test.first).taught(t)
			var with, without float64
			const sessions = 2
			for i := range uint64(sessions) {
				next := at.session(t, test.at.Seed+1+i, test.next)
				_, a := next.split(t, nil)
				_, b := next.split(t, known)
				t.Logf("%d balls: F1 %.2f without, %.2f with", a.True, a.F1, b.F1)
				without, with = without+a.F1/sessions, with+b.F1/sessions
			}
			assert.LessOrEqual(t, without, test.without)
			assert.GreaterOrEqual(t, with, without+0.25)
		})
	}
}

// TestProfileOfAnotherPlaceDoesNoHarm gives films that are split well what was
// learnt where nothing is the same: the camera stood elsewhere or on the other
// side, and its microphone heard less.
func TestProfileOfAnotherPlaceDoesNoHarm(t *testing.T) {
	side := plain.Setting{Gap: 7, Left: 0.15, FPS: 30, Ball: 0.012, Spread: 3, Distance: 6, Noise: -40}
	behind := side
	behind.View, behind.Feed, behind.Distance, behind.Gain = plain.BehindBatter, plain.Bowler, 16, -12
	mirror := side
	mirror.Mirror = true
	for _, test := range []struct {
		name       string
		here, from plain.Setting
		mute       bool
	}{
		{"from behind the batter", side, behind, false},
		{"from the other side, no sound", side, mirror, true},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			test.here.Mute, test.from.Mute = test.mute, test.mute
			wrong := newPosition(t, test.from).session(t, 7710, 60).taught(t)
			here := newPosition(t, test.here).session(t, 7720, 60)
			own, without := here.split(t, nil)
			r, with := here.split(t, wrong)
			assert.GreaterOrEqual(t, without.F1, 0.85, "a film that is split well")
			assert.GreaterOrEqual(t, with.F1, without.F1)
			require.NotNil(t, r.Profile.Path)
			assert.InDelta(t, own.Profile.Path.From.X, r.Profile.Path.From.X, 0.02, "and what was wrong is forgotten")
			assert.InDelta(t, own.Profile.Path.Meet.X, r.Profile.Path.Meet.X, 0.02)
		})
	}
}
