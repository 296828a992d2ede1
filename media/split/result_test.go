package split

import (
	"context"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/media"
)

func candidate(at, confidence float64) Ball {
	p := media.FromSeconds(at)
	b := Ball{Passing: p}
	b.Start, b.Contact, b.End, b.Confidence = max(p-2*media.Second, 0), &p, p+media.Second, confidence
	return b
}

func TestAbove(t *testing.T) {
	t.Parallel()
	balls := []Ball{candidate(10, 0.9), candidate(11, 0.6), candidate(12.5, 0.7), candidate(30, 0.1)}
	at := func(cut float64) (out []float64) {
		for _, b := range Above(balls, cut) {
			out = append(out, b.Passing.Seconds())
		}
		return out
	}
	assert.Equal(t, []float64{10, 12.5}, at(0.5), "11 is too close to both of the surer ones")
	assert.Equal(t, []float64{10}, at(0.8))
	assert.Equal(t, []float64{10, 12.5, 30}, at(0))
	assert.Empty(t, at(0.95))
}

func TestAboveIsLawful(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var balls []Ball
		for range rapid.IntRange(0, 20).Draw(t, "n") {
			balls = append(balls, candidate(rapid.Float64Range(0, 60).Draw(t, "at"), rapid.Float64Range(0, 1).Draw(t, "sure")))
		}
		low := rapid.Float64Range(0, 1).Draw(t, "cut")
		out := Above(balls, low)
		for i, b := range out {
			assert.GreaterOrEqual(t, b.Confidence, low)
			assert.Less(t, b.Start, b.End)
			assert.True(t, b.Span().Contains(*b.Contact))
			if i > 0 {
				assert.LessOrEqual(t, out[i-1].End, b.Start)
			}
		}
	})
}

func TestNothingSureIsNoSession(t *testing.T) {
	t.Parallel()
	likely := []Ball{candidate(10, 0.6), candidate(40, 0.7)}
	assert.Equal(t, bareCut, cutOf(likely, 80*media.Second))
	assert.Equal(t, usualCut, cutOf(likely, 50*media.Second), "in a short film there may be two")
	assert.Equal(t, usualCut, cutOf(append(likely, candidate(70, 0.9)), 80*media.Second))
}

// TestUnsureBallsAreLeftOut has two likely balls in eighty seconds. By ear alone they are
// shown; once pictures were looked at they are left out, said so, and teach nothing.
func TestUnsureBallsAreLeftOut(t *testing.T) {
	t.Parallel()
	session := func(here float64, seen ...*view) *session {
		s := newSession(media.Probe{Duration: 80 * media.Second}, nil, &stir{})
		s.views = seen
		for _, at := range []float64{20, 50} {
			s.moments = append(s.moments, moment{at: at, onset: -1, chosen: true, p: here, here: here, struck: true})
		}
		return s
	}
	looked := &view{from: 0, to: 80}
	unsure := session(0.55, looked).result()
	assert.Empty(t, unsure.Deliveries)
	assert.Len(t, unsure.Above(usualCut), 2)
	assert.Contains(t, unsure.Notes[len(unsure.Notes)-1], "Nothing is surely a ball")
	assert.Zero(t, unsure.Profile.Balls)
	assert.Len(t, session(0.55).asHeard().Deliveries, 2, "nothing was looked at yet")
	sure := session(0.95, looked).result()
	assert.Len(t, sure.Deliveries, 2)
	assert.Positive(t, sure.Profile.Balls)
}

func TestBreaks(t *testing.T) {
	t.Parallel()
	var balls []Ball
	for _, at := range []float64{10, 18, 27, 35, 95, 103, 111, 130} {
		balls = append(balls, candidate(at, 1))
	}
	assert.Equal(t, []media.Span{{Start: 36 * media.Second, End: 93 * media.Second}}, breaks(balls))
	assert.Empty(t, breaks(balls[:2]))
}

// TestRefineObeys adds a ball where there is none, and discards one that there
// is: both hold, and the others stay.
func TestRefineObeys(t *testing.T) {
	w := newWorld(setting{seed: 903, minutes: 2, gap: 8, distance: 6, noise: -45, fps: 50, grain: 1})
	found, err := Find(context.Background(), w, w.probe(), Watch{})
	require.NoError(t, err)
	require.Greater(t, len(found.Deliveries), 6)
	gone := found.Deliveries[2]
	mid := (*found.Deliveries[5].Contact + *found.Deliveries[4].Contact) / 2
	added := media.Delivery{Start: mid - 2*media.Second, Contact: &mid, End: mid + media.Second}
	r, err := Refine(context.Background(), w, w.probe(), Hints{Balls: []media.Delivery{added}, Discarded: []media.Delivery{gone}}, Watch{})
	require.NoError(t, err)
	lawful(t, r, w.probe().Duration)
	var contacts []media.Micros
	for _, d := range r.Deliveries {
		if d.Contact != nil {
			contacts = append(contacts, *d.Contact)
		}
	}
	assert.Contains(t, contacts, mid)
	assert.NotContains(t, contacts, *gone.Contact)
	assert.Len(t, r.Deliveries, len(found.Deliveries))
	for _, b := range r.Balls {
		if b.Passing == mid {
			assert.Equal(t, 1.0, b.Confidence)
		}
	}
}

// TestProfileIsKept gives what one session taught, as it is stored, to another.
func TestProfileIsKept(t *testing.T) {
	like := setting{seed: 904, minutes: 2, gap: 7, distance: 6, noise: -40, talk: 0.3, talkLevel: -8, fps: 25, grain: 1}
	w := newWorld(like)
	r, err := Find(context.Background(), w, w.probe(), Watch{})
	require.NoError(t, err)
	require.Greater(t, r.Profile.Balls, 5.0)
	raw, err := json.Marshal(r.Profile)
	require.NoError(t, err)
	var p Profile
	require.NoError(t, json.Unmarshal(raw, &p))
	assert.Equal(t, r.Profile, p)
	next := like
	next.seed, next.minutes = 905, 0.7
	w = newWorld(next)
	with, err := Refine(context.Background(), w, w.probe(), Hints{Profile: &p}, Watch{})
	require.NoError(t, err)
	assert.GreaterOrEqual(t, Score(with.Deliveries, w.truth(), media.Second*35/100).F1, 0.85)
	_, err = Refine(context.Background(), w, w.probe(), Hints{Profile: &Profile{Version: 99, Balls: 3}}, Watch{})
	assert.NoError(t, err, "a profile of another make is left alone")
}
