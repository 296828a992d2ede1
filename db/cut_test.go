package db_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/align"
	"netreel/media/fault"
	"netreel/media/split"
	"netreel/tagging"
)

// sure is a delivery with another confidence.
func sure(d media.Delivery, confidence float64) media.Delivery {
	d.Confidence = confidence
	return d
}

func (w *world) wholeLane(session int64) tagging.Lane {
	w.t.Helper()
	lane, err := w.store.Lane(w.t.Context(), w.analyst, session)
	require.NoError(w.t, err)
	return lane
}

func TestFewerOrMoreBalls(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id := w.session(w.players[0].ID)
	rec := w.recording(id, media.SideOn, film(60))
	w.split(rec, found(1, 3, 5), sure(found(11, 13, 15), 0.6), sure(found(21, 23, 25), 0.3), sure(found(31, 33, 35), 0.1))
	lane := w.wholeLane(id)
	assert.InDelta(t, 0.5, lane.Cut, 1e-9)
	assert.False(t, lane.CutChosen)
	require.Len(t, lane.Balls, 2)
	require.Len(t, lane.Weak, 2)
	assert.Equal(t, seconds(21), lane.Weak[0].Start)
	require.NotNil(t, lane.Balls[0].Struck)
	assert.InDelta(t, 0.8, *lane.Balls[0].Struck, 1e-9)

	touched := as(lane.Balls[1])
	touched.State = tagging.Accepted
	w.edit(id, touched)
	few := 0.8
	require.NoError(t, w.store.SetCut(ctx, w.analyst, id, &few))
	assert.Equal(t, [][2]float64{{1, 5}, {11, 15}}, w.spans(id), "what a person has touched stays")
	many := 0.2
	require.NoError(t, w.store.SetCut(ctx, w.analyst, id, &many))
	assert.Equal(t, [][2]float64{{1, 5}, {11, 15}, {21, 25}}, w.spans(id))
	lane = w.wholeLane(id)
	assert.Len(t, lane.Weak, 1)
	assert.True(t, lane.CutChosen)
	assert.Len(t, w.balls(id)[2].Clips, 1, "and is to be cut")
	w.split(rec, found(1, 3, 5), sure(found(41, 43, 45), 0.25))
	assert.Equal(t, [][2]float64{{1, 5}, {11, 15}, {41, 45}}, w.spans(id), "a later split keeps to the chosen cut")
	require.NoError(t, w.store.SetCut(ctx, w.analyst, id, nil))
	assert.Equal(t, [][2]float64{{1, 5}, {11, 15}}, w.spans(id))

	bad := 1.5
	assert.Equal(t, fault.Invalid, fault.KindOf(w.store.SetCut(ctx, w.analyst, id, &bad)))
	assert.Equal(t, fault.NotFound, fault.KindOf(w.store.SetCut(ctx, w.stranger, id, &few)))
}

// Two cameras on one clock that are each unsure of the same ball are surer together.
func TestCamerasDecideTogether(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id := w.session(w.players[0].ID)
	side := w.recording(id, media.SideOn, film(60))
	behind := w.recording(id, media.BehindTheArm, film(60))
	w.split(side, found(11, 13, 15), sure(found(21, 23, 25), 0.4), sure(found(31, 33, 35), 0.4))
	w.split(behind, sure(found(1, 3, 5), 0.6), sure(found(11.1, 13.1, 15), 0.4), sure(found(51, 53, 55), 0.6))
	require.Len(t, w.spans(id), 3, "on clocks that are guesses each decides alone")
	require.NoError(t, w.store.SaveMatches(ctx, id, []align.Pair{pairOf(side, behind, 10, 0.95)}))
	// On the session clock what the one behind the arm saw lies at 13, 23.1 and 63.
	balls := w.balls(id)
	require.Len(t, balls, 3)
	assert.InDelta(t, 1-0.1*0.4, balls[0].Confidence, 1e-6, "both saw it")
	assert.InDelta(t, 1-0.6*0.6, balls[1].Confidence, 1e-6, "neither alone would have proposed it")
	assert.Len(t, balls[0].Clips, 2)
	assert.Len(t, balls[1].Clips, 2)
	assert.InDelta(t, 0.6, balls[2].Confidence, 1e-6)
	assert.Len(t, balls[2].Clips, 1, "the other one had stopped")
}

func TestHintsForTheNextSplit(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id := w.session(w.players[0].ID)
	rec := w.recording(id, media.SideOn, film(60))
	h, err := w.store.SplitHints(ctx, rec)
	require.NoError(t, err)
	assert.Equal(t, split.Hints{}, h)
	w.split(rec, found(1, 3, 5), found(11, 13, 15), found(21, 0, 25))
	balls := w.balls(id)
	taken, dropped := as(balls[0]), as(balls[1])
	taken.State, dropped.State = tagging.Accepted, tagging.Discarded
	w.edit(id, taken, dropped, tagging.BallEdit{Span: media.Span{Start: seconds(41), End: seconds(44)}, State: tagging.Accepted})
	in := w.state(rec)
	in.Clock.Offset = seconds(2)
	_, err = w.store.ChangeRecording(ctx, w.analyst, in)
	require.NoError(t, err)

	h, err = w.store.SplitHints(ctx, rec)
	require.NoError(t, err)
	require.Len(t, h.Balls, 2)
	require.Len(t, h.Discarded, 1)
	assert.Equal(t, seconds(1), *h.Balls[0].Contact, "on the recording's own clock")
	assert.Nil(t, h.Balls[1].Contact)
	assert.Equal(t, seconds(39), h.Balls[1].Start)
	assert.Equal(t, seconds(9), h.Discarded[0].Start)
}

// What a camera position taught is given to the next session at the same place, and to no other.
func TestProfileOfACameraPosition(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	at := func(place string, camera media.Camera) int64 {
		made, err := w.store.AddSession(ctx, w.analyst, tagging.SessionInput{Title: "Nets", HeldOn: "2026-02-01", Place: place, Focus: []string{"shot"}})
		require.NoError(t, err)
		return w.recording(made.ID, camera, film(60))
	}
	learnt := split.Profile{
		Version: 2, Balls: 12, Heard: 9, Bat: []split.Measure{{Mean: 1, Variance: 2}}, Around: [][]float64{{0.1}, {-0.2}},
		Bounce: &split.Measure{Mean: 0.3, Variance: 0.01}, Hit: &split.Place{X: 0.6, Y: 0.5},
		Path: &split.Path{From: split.Place{X: 0.2, Y: 0.4}, To: split.Place{X: 0.5, Y: 0.7}, Seconds: 0.4, Mass: 0.03, Shown: 0.9, Flights: 11},
	}
	first := at("Hall", media.SideOn)
	require.NoError(t, w.store.SaveSplit(ctx, first, split.Result{
		Balls: thoughtOf(found(1, 3, 5)), Cut: 0.5, Profile: learnt, Notes: []string{"The sound is clipped."},
		Breaks: []media.Span{{Start: seconds(20), End: seconds(50)}},
	}))
	assert.Equal(t, []string{"The sound is clipped."}, w.state(first).Notes)
	lane := w.wholeLane(w.state(first).SessionID)
	assert.Equal(t, []media.Span{{Start: seconds(20), End: seconds(50)}}, lane.Breaks)
	second := at("Hall", media.SideOn)
	for place, recording := range map[string]int64{"Hall": second, "": at("", media.SideOn), "Hall behind": at("Hall", media.BehindTheArm)} {
		h, err := w.store.SplitHints(ctx, recording)
		require.NoError(t, err)
		if place == "Hall" {
			require.NotNil(t, h.Profile)
			assert.Equal(t, learnt, *h.Profile)
		} else {
			assert.Nil(t, h.Profile, place)
		}
	}

	more := split.Profile{Version: 2, Balls: 20}
	require.NoError(t, w.store.SaveHeard(ctx, second, split.Result{Balls: thoughtOf(found(1, 3, 5)), Cut: 0.5, Profile: more}))
	h, err := w.store.SplitHints(ctx, at("Hall", media.SideOn))
	require.NoError(t, err)
	assert.Equal(t, learnt, *h.Profile, "what was only heard so far teaches nothing")
	require.NoError(t, w.store.SaveSplit(ctx, second, split.Result{Balls: thoughtOf(found(1, 3, 5)), Cut: 0.5, Profile: more}))
	require.NoError(t, w.store.SaveSplit(ctx, at("Hall", media.SideOn), split.Result{Cut: 0.5}))
	h, err = w.store.SplitHints(ctx, at("Hall", media.SideOn))
	require.NoError(t, err)
	assert.Equal(t, more, *h.Profile, "the last session's, and none without a ball")
}
