package db_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/fault"
	"netreel/media/jobs"
	"netreel/tagging"
)

func TestEditLane(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	id, rec := w.filmed(3)
	w.cutAll(id)
	w.work()
	b := w.balls(id)

	// Discard the first, lengthen the second, add one between the second and the third.
	discarded, longer := as(b[0]), as(b[1])
	discarded.State = tagging.Discarded
	longer.Span.End += seconds(0.4)
	contact := seconds(12.2)
	added := tagging.BallEdit{Span: media.Span{Start: seconds(11.5), End: seconds(12.9)}, Contact: &contact, State: tagging.Accepted, BatterID: w.players[1].ID}
	got := w.edit(id, longer, added, discarded)
	require.Len(t, got, 3)
	assert.Equal(t, b[1].ID, got[0].ID, "in the edit's order")
	assert.Equal(t, 2, got[0].Revision)
	assert.Equal(t, 1, got[0].Number)
	assert.Equal(t, 2, got[1].Number)
	assert.Equal(t, "person", got[1].Origin)
	assert.Equal(t, &contact, got[1].Contact)
	assert.Equal(t, w.players[1].ID, got[1].PlayerID)
	assert.Equal(t, b[0].ID, got[2].ID)
	assert.Zero(t, got[2].Number)

	now := w.balls(id)
	require.Len(t, now, 3)
	assert.Equal(t, 2, now[0].Clips[0].Revision)
	assert.Nil(t, now[0].Clips[0].Quick)
	assert.NotNil(t, now[2].Clips[0].Quick, "the others are not cut again")
	cuts := w.jobs("cut_clips")
	require.Len(t, cuts, 1)
	assert.JSONEq(t, jsonOf(t, jobs.CutClips{
		RecordingID: rec, ClipIDs: []int64{now[0].Clips[0].ID, now[1].Clips[0].ID}, Revisions: []int{2, 1},
	}), cuts[0].Args)
	assert.Equal(t, jobs.PriorityLookedAt, cuts[0].Priority)
	assert.Equal(t, tagging.Ready, w.state(rec).State, "a clip more does not make the recording unready")

	// Restored: its clip is still there.
	w.cutAll(id)
	w.work()
	back := as(got[2])
	back.State = tagging.Proposed
	w.edit(id, back)
	now = w.balls(id)
	require.Len(t, now, 4)
	assert.Equal(t, b[0].ID, now[0].ID)
	assert.NotNil(t, now[0].Clips[0].Quick)
	assert.Empty(t, w.jobs("cut_clips"))

	// Contact and batter alone change no stretch.
	same := as(now[1])
	same.Contact = nil
	w.edit(id, same)
	assert.Empty(t, w.jobs("cut_clips"))
}

func TestStaleEditsAreRefusedWhole(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, rec := w.filmed(2)
	b := w.lane(id)
	accepted := as(b[0])
	accepted.State = tagging.Accepted
	w.edit(id, accepted)
	other := as(b[1])
	other.State = tagging.Discarded
	_, err := w.store.EditLane(ctx, w.analyst, id, tagging.LaneEdit{Balls: []tagging.BallEdit{other, accepted}})
	assertKind(t, fault.Conflict, err)
	assert.Equal(t, tagging.Proposed, w.lane(id)[1].State, "nothing of it was done")

	w.split(rec) // takes the untouched one away
	_, err = w.store.EditLane(ctx, w.analyst, id, tagging.LaneEdit{Balls: []tagging.BallEdit{other}})
	assertKind(t, fault.Conflict, err)
	elsewhere, _ := w.filmed(1)
	_, err = w.store.EditLane(ctx, w.analyst, elsewhere, tagging.LaneEdit{Balls: []tagging.BallEdit{as(w.lane(id)[0])}})
	assertKind(t, fault.Conflict, err) // a ball of another session
}

func TestEditsRefused(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(1)
	b := w.lane(id)[0]
	for name, change := range map[string]func(*tagging.BallEdit){
		"too short":           func(e *tagging.BallEdit) { e.Span.End = e.Span.Start + seconds(0.1) },
		"too long":            func(e *tagging.BallEdit) { e.Span.End = e.Span.Start + seconds(61) },
		"backwards":           func(e *tagging.BallEdit) { e.Span.End = e.Span.Start - 1 },
		"contact outside":     func(e *tagging.BallEdit) { c := e.Span.End + 1; e.Contact = &c },
		"no state":            func(e *tagging.BallEdit) { e.State = "" },
		"a batter not there":  func(e *tagging.BallEdit) { e.BatterID = 999 },
		"beyond all sessions": func(e *tagging.BallEdit) { e.Span.Start += 1 << 50; e.Span.End += 1 << 50; e.Contact = nil },
	} {
		e := as(b)
		change(&e)
		_, err := w.store.EditLane(ctx, w.coach, id, tagging.LaneEdit{Balls: []tagging.BallEdit{e}})
		assert.Equal(t, fault.Invalid, fault.KindOf(err), name)
	}
	for name, edits := range map[string][]tagging.BallEdit{
		"none": nil, "one twice": {as(b), as(b)}, "far too many": make([]tagging.BallEdit, 2001),
	} {
		_, err := w.store.EditLane(ctx, w.coach, id, tagging.LaneEdit{Balls: edits})
		assert.Equal(t, fault.Invalid, fault.KindOf(err), name)
	}
	e := tagging.LaneEdit{Balls: []tagging.BallEdit{as(b)}}
	_, err := w.store.EditLane(ctx, w.stranger, id, e)
	assertKind(t, fault.NotFound, err)
	_, err = w.store.EditLane(ctx, w.asPlayer[0], id, e)
	assertKind(t, fault.Forbidden, err)
	assert.Equal(t, b, w.lane(id)[0])
}

func TestEditsWhileClipsAreBeingCut(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	id, rec := w.filmed(6)
	w.work()
	var all []tagging.BallEdit
	for _, b := range w.lane(id) {
		e := as(b)
		e.State = tagging.Accepted
		all = append(all, e)
	}
	all[5].State = tagging.Discarded
	w.edit(id, all...)
	assert.Empty(t, w.jobs("cut_clips"), "they were queued when the recording was split")
	w.cutAll(id)
	assert.Equal(t, tagging.Ready, w.state(rec).State, "a discarded ball is not waited for")

	back := as(w.lane(id)[5])
	back.State = tagging.Accepted
	w.edit(id, back)
	assert.Len(t, w.jobs("cut_clips"), 1, "restored, and never cut")
}

func TestDiscardingTheLastUncutBallMakesReady(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	id, rec := w.filmed(2)
	b := w.balls(id)
	w.cutAllBut(id, b[1].Clips[0].ID)
	require.Equal(t, tagging.Split, w.state(rec).State)
	e := as(b[1])
	e.State = tagging.Discarded
	w.edit(id, e)
	assert.Equal(t, tagging.Ready, w.state(rec).State)
}

// TestAddedBallUndone: the page undoes an added ball by discarding it. It counts
// nowhere and keeps no finding of the split away; added again it is the same
// ball, with what was said of it.
func TestAddedBallUndone(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	id, rec := w.filmed(1)
	added := w.edit(id, tagging.BallEdit{Span: media.Span{Start: seconds(11), End: seconds(14)}, State: tagging.Accepted})[0]
	w.say(w.coach, term(added.ID, "shot", "pull"))
	undone := as(added)
	undone.State = tagging.Discarded
	undone.Revision = w.edit(id, undone)[0].Revision
	assert.Len(t, w.balls(id), 1)
	s, err := w.store.Session(t.Context(), w.coach, id)
	require.NoError(t, err)
	assert.Equal(t, 1, s.Balls)
	assert.Zero(t, s.Coded)

	w.split(rec, found(1, 3, 5), found(11, 12, 14))
	require.Len(t, w.balls(id), 2, "nobody has discarded what the split finds there")
	assert.NotEqual(t, added.ID, w.balls(id)[1].ID)

	undone.State = tagging.Accepted
	again := w.edit(id, undone)[0]
	assert.Equal(t, added.ID, again.ID)
	balls := w.balls(id)
	require.Len(t, balls, 3)
	for _, b := range balls {
		if b.ID == added.ID {
			assert.Len(t, b.Seen, 1)
		}
	}
}
