package db_test

import (
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/find"
)

func picked(ids ...int64) (list []tagging.ReelBall) {
	for _, id := range ids {
		list = append(list, tagging.ReelBall{BallID: id})
	}
	return list
}

func (w *world) reel(in tagging.ReelInput) tagging.Reel {
	w.t.Helper()
	r, err := w.store.AddReel(w.t.Context(), w.coach, in)
	require.NoError(w.t, err)
	return r
}

func (w *world) played(v tagging.Viewer, reel int64) (ids []int64) {
	w.t.Helper()
	p, err := w.store.Playlist(w.t.Context(), v, reel)
	require.NoError(w.t, err)
	for _, item := range p.Items {
		ids = append(ids, item.Ball.ID)
	}
	return ids
}

func TestHandPickedReel(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(4)
	b := w.balls(id)
	w.say(w.coach, term(b[2].ID, "shot", "pull"))
	r := w.reel(tagging.ReelInput{
		Title: " Pulls ", Note: "head still", Players: []int64{w.players[1].ID, w.players[0].ID},
		Balls: []tagging.ReelBall{{BallID: b[2].ID, Title: "Best", Note: "still head"}, {BallID: b[0].ID}, {BallID: b[3].ID}},
	})
	assert.Equal(t, "Pulls", r.Title)
	assert.Equal(t, "Ada Marsh", r.MadeBy)
	assert.Equal(t, 1, r.Revision)
	assert.Equal(t, 3, r.Count)
	assert.Equal(t, []int64{w.players[0].ID, w.players[1].ID}, r.Players)
	assert.Equal(t, []tagging.ReelBall{{BallID: b[2].ID, Title: "Best", Note: "still head"}, {BallID: b[0].ID}, {BallID: b[3].ID}}, r.Balls)

	p, err := w.store.Playlist(ctx, w.coach, r.ID)
	require.NoError(t, err)
	assert.Equal(t, "Fenland Women", p.Squad)
	assert.Equal(t, r, p.Reel)
	require.Len(t, p.Items, 3)
	assert.Equal(t, "Best", p.Items[0].Title)
	assert.Equal(t, "Cleo Reed", p.Items[0].Player)
	assert.Equal(t, []string{"shot=pull"}, said(p.Items[0].Ball.Seen))
	assert.Len(t, p.Items[0].Ball.Clips, 1)

	gone := as(b[0])
	gone.State = tagging.Discarded
	back := w.edit(id, gone)[0]
	assert.Equal(t, []int64{b[2].ID, b[3].ID}, w.played(w.coach, r.ID), "a discarded ball drops out")
	now, err := w.store.Reel(ctx, w.coach, r.ID)
	require.NoError(t, err)
	assert.Equal(t, 2, now.Count)
	restored := as(back)
	restored.State = tagging.Accepted
	w.edit(id, restored)
	assert.Equal(t, []int64{b[2].ID, b[0].ID, b[3].ID}, w.played(w.coach, r.ID), "and is back in its place")

	changed, err := w.store.ChangeReel(ctx, w.analyst, r.ID, tagging.ReelInput{Title: "Two", Balls: picked(b[3].ID, b[1].ID), Revision: 1})
	require.NoError(t, err)
	assert.Equal(t, 2, changed.Revision)
	assert.Empty(t, changed.Players)
	assert.Equal(t, []int64{b[3].ID, b[1].ID}, w.played(w.coach, r.ID))
	_, err = w.store.ChangeReel(ctx, w.coach, r.ID, tagging.ReelInput{Title: "Late", Revision: 1})
	assertKind(t, fault.Conflict, err)
}

func TestReelFromAQuestion(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(4)
	b := w.balls(id)
	w.say(w.coach, term(b[1].ID, "shot", "pull"), term(b[3].ID, "shot", "pull"))
	r := w.reel(tagging.ReelInput{
		Title: "Pulls", Question: new("shot=pull,,cut"), Balls: []tagging.ReelBall{{BallID: b[3].ID, Note: "late"}, {BallID: b[0].ID}},
	})
	assert.Equal(t, "shot=cut,pull", *r.Question, "kept in the canonical form")
	assert.Equal(t, 2, r.Count)
	assert.Equal(t, []tagging.ReelBall{{BallID: b[3].ID, Note: "late"}}, r.Balls, "only what is written on balls")
	assert.Equal(t, []int64{b[1].ID, b[3].ID}, w.played(w.coach, r.ID))

	w.say(w.analyst, term(b[0].ID, "shot", "cut"))
	assert.Equal(t, []int64{b[0].ID, b[1].ID, b[3].ID}, w.played(w.coach, r.ID), "it stays current")
	list, err := w.store.Reels(ctx, w.coach)
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.Equal(t, 3, list[0].Count)
	p, err := w.store.Playlist(ctx, w.coach, r.ID)
	require.NoError(t, err)
	assert.Equal(t, "late", p.Items[2].Note)
}

func TestReelsAreListedWithTheirCounts(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(3)
	b := w.balls(id)
	w.say(w.coach, term(b[0].ID, "shot", "pull"))
	w.reel(tagging.ReelInput{Title: "A", Balls: picked(b[0].ID, b[1].ID)})
	w.reel(tagging.ReelInput{Title: "B", Question: new("shot=pull"), Players: []int64{w.players[0].ID}})
	w.reel(tagging.ReelInput{Title: "C", Question: new("")})
	w.reel(tagging.ReelInput{Title: "D"})
	counts := func(v tagging.Viewer) map[string]int {
		list, err := w.store.Reels(ctx, v)
		require.NoError(t, err)
		n := map[string]int{}
		for _, r := range list {
			n[r.Title] = r.Count
		}
		return n
	}
	assert.Equal(t, map[string]int{"A": 2, "B": 1, "C": 3, "D": 0}, counts(w.coach))
	assert.Equal(t, map[string]int{"B": 1}, counts(w.asPlayer[0]))
	assert.Empty(t, counts(w.stranger))
}

func TestReelsRefused(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(1)
	ball := w.balls(id)[0].ID
	for name, in := range map[string]tagging.ReelInput{
		"no title":           {Balls: picked(ball)},
		"a ball twice":       {Title: "R", Balls: picked(ball, ball)},
		"a ball not there":   {Title: "R", Balls: picked(999)},
		"a player not there": {Title: "R", Players: []int64{999}},
		"a bad question":     {Title: "R", Question: new("player=anna")},
		"a long note":        {Title: "R", Balls: []tagging.ReelBall{{BallID: ball, Note: strings.Repeat("a", 4001)}}},
	} {
		_, err := w.store.AddReel(ctx, w.coach, in)
		assert.Equal(t, fault.Invalid, fault.KindOf(err), "%s: %v", name, err)
	}
	_, err := w.store.AddReel(ctx, w.stranger, tagging.ReelInput{Title: "R", Balls: picked(ball)})
	assertKind(t, fault.Invalid, err)
	_, err = w.store.AddReel(ctx, w.asPlayer[0], tagging.ReelInput{Title: "R"})
	assertKind(t, fault.Forbidden, err)
	r := w.reel(tagging.ReelInput{Title: "R", Balls: picked(ball)})
	for _, v := range []tagging.Viewer{w.stranger, w.asPlayer[0]} {
		_, err = w.store.Reel(ctx, v, r.ID)
		assertKind(t, fault.NotFound, err)
		_, err = w.store.Playlist(ctx, v, r.ID)
		assertKind(t, fault.NotFound, err)
		_, err = w.store.Shares(ctx, v, r.ID)
		assertKind(t, fault.NotFound, err)
		_, err = w.store.Exports(ctx, v, r.ID)
		assertKind(t, fault.NotFound, err)
	}
	_, err = w.store.ChangeReel(ctx, w.stranger, r.ID, tagging.ReelInput{Title: "X"})
	assertKind(t, fault.NotFound, err)
	assertKind(t, fault.NotFound, w.store.DeleteReel(ctx, w.stranger, r.ID))
	assertKind(t, fault.Forbidden, w.store.DeleteReel(ctx, w.asPlayer[0], r.ID))
	require.NoError(t, w.store.DeleteReel(ctx, w.coach, r.ID))
	_, err = w.store.Reel(ctx, w.coach, r.ID)
	assertKind(t, fault.NotFound, err)
}

// TestWhatAPlayerSees goes through all that shows balls, for a player whose
// own balls are some, who was shown others, and who must not see the rest.
func TestWhatAPlayerSees(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	cleo, dot := w.asPlayer[0], w.asPlayer[1]
	id, _ := w.filmed(6)
	var edits []tagging.BallEdit
	for i, b := range w.lane(id) {
		e := as(b)
		e.BatterID = w.players[1].ID
		if i < 2 {
			e.BatterID = cleo.PlayerID
		}
		edits = append(edits, e)
	}
	edits[1].State = tagging.Discarded
	w.edit(id, edits...)
	lane := w.lane(id)
	own, discarded, pickedBall, foundBall, hidden := lane[0], lane[1], lane[2], lane[3], lane[4]
	w.say(w.coach, term(own.ID, "shot", "pull"), note(own.ID, "good"), term(foundBall.ID, "shot", "hook"))
	w.reel(tagging.ReelInput{Title: "Picked", Players: []int64{cleo.PlayerID}, Balls: picked(pickedBall.ID)})
	asked := w.reel(tagging.ReelInput{
		Title: "Asked", Players: []int64{cleo.PlayerID, dot.PlayerID}, Question: new("shot=hook"),
		Balls: []tagging.ReelBall{{BallID: hidden.ID, Note: "a note on a ball that the question does not find"}},
	})
	w.reel(tagging.ReelInput{Title: "Not theirs", Balls: picked(hidden.ID)})

	for _, b := range []tagging.Ball{own, pickedBall, foundBall} {
		got, err := w.store.Ball(ctx, cleo, b.ID)
		require.NoError(t, err)
		_, err = w.store.Clip(ctx, cleo, got.Clips[0].ID)
		require.NoError(t, err)
	}
	for _, b := range []tagging.Ball{discarded, hidden} {
		_, err := w.store.Ball(ctx, cleo, b.ID)
		assertKind(t, fault.NotFound, err)
		staff, err := w.store.Ball(ctx, w.coach, b.ID)
		require.NoError(t, err)
		_, err = w.store.Clip(ctx, cleo, staff.Clips[0].ID)
		assertKind(t, fault.NotFound, err)
	}
	_, err := w.store.Ball(ctx, w.stranger, own.ID)
	assertKind(t, fault.NotFound, err)

	mine, err := w.store.SessionBalls(ctx, cleo, id)
	require.NoError(t, err)
	require.Len(t, mine, 1, "their own of the session, and only those")
	assert.Equal(t, []string{"shot=pull", "good"}, said(mine[0].Seen), "with what the coach saw")
	list, err := w.store.Sessions(ctx, cleo)
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.Equal(t, 1, list[0].Balls)
	found, err := w.store.Find(ctx, cleo, find.Question{}, find.Page{})
	require.NoError(t, err)
	assert.Equal(t, 1, found.Total)
	assert.Equal(t, []int64{foundBall.ID}, w.played(cleo, asked.ID))
	theirs, err := w.store.Reel(ctx, cleo, asked.ID)
	require.NoError(t, err)
	assert.Equal(t, []int64{cleo.PlayerID}, theirs.Players, "not with whom else it is shared")
	_, err = w.store.Session(ctx, cleo, w.session(w.players[1].ID))
	assertKind(t, fault.NotFound, err) // no ball of theirs in it

	// A player's account that lost its player must see nothing rather than everything.
	nobody := tagging.Viewer{AccountID: cleo.AccountID, SquadID: cleo.SquadID, Role: tagging.PlayerRole}
	none, err := w.store.Find(ctx, nobody, find.Question{}, find.Page{})
	require.NoError(t, err)
	assert.Zero(t, none.Total)
	_, err = w.store.Ball(ctx, nobody, own.ID)
	assertKind(t, fault.NotFound, err)
	empty, err := w.store.Sessions(ctx, nobody)
	require.NoError(t, err)
	assert.Empty(t, empty)
}

func TestShares(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(3)
	b := w.balls(id)
	w.say(w.coach, term(b[0].ID, "shot", "pull"))
	byHand := w.reel(tagging.ReelInput{Title: "By hand", Balls: picked(b[0].ID), Players: []int64{w.players[0].ID}})
	asked := w.reel(tagging.ReelInput{Title: "Asked", Question: new("shot=pull")})
	for _, r := range []tagging.Reel{byHand, asked} {
		share, secret, err := w.store.AddShare(ctx, w.analyst, r.ID, days(7))
		require.NoError(t, err)
		assert.Equal(t, "Bo Ferry", share.MadeBy)
		p, err := w.store.SharedPlaylist(ctx, secret, true)
		require.NoError(t, err)
		require.Len(t, p.Items, 1)
		assert.Empty(t, p.Reel.Players)
		_, err = w.store.SharedPlaylist(ctx, secret, false)
		require.NoError(t, err)
		list, err := w.store.Shares(ctx, w.coach, r.ID)
		require.NoError(t, err)
		require.Len(t, list, 1)
		assert.Equal(t, 1, list[0].Opened, "a first look counts, the rest does not")

		_, err = w.store.SharedClip(ctx, secret, b[0].Clips[0].ID)
		require.NoError(t, err)
		for _, other := range []int64{b[1].Clips[0].ID, 999} {
			_, err = w.store.SharedClip(ctx, secret, other)
			assertKind(t, fault.NotFound, err)
		}
		assertKind(t, fault.NotFound, w.store.RevokeShare(ctx, w.stranger, share.ID))
		assertKind(t, fault.Forbidden, w.store.RevokeShare(ctx, w.asPlayer[0], share.ID))
		for range 2 {
			require.NoError(t, w.store.RevokeShare(ctx, w.coach, share.ID))
		}
		_, revoked := w.store.SharedPlaylist(ctx, secret, true)
		_, unknown := w.store.SharedPlaylist(ctx, uuid.NewString(), true)
		assertKind(t, fault.NotFound, revoked)
		assert.Equal(t, fault.Message(unknown), fault.Message(revoked), "nobody can tell them apart")
		_, err = w.store.SharedClip(ctx, secret, b[0].Clips[0].ID)
		assert.Equal(t, fault.Message(unknown), fault.Message(err))
	}
	_, secret, err := w.store.AddShare(ctx, w.coach, byHand.ID, days(1))
	require.NoError(t, err)
	_, err = w.store.Pool().Exec(ctx, `UPDATE share SET expires_at = now() - interval '1 second' WHERE revoked_at IS NULL`)
	require.NoError(t, err)
	_, err = w.store.SharedPlaylist(ctx, secret, true)
	assertKind(t, fault.NotFound, err)

	for _, life := range []float64{-1, 0, 0.5, 92} {
		_, _, err := w.store.AddShare(ctx, w.coach, byHand.ID, days(life))
		assertKind(t, fault.Invalid, err)
	}
	_, _, err = w.store.AddShare(ctx, w.coach, byHand.ID, days(tagging.MaxShareDays))
	require.NoError(t, err)
	_, _, err = w.store.AddShare(ctx, w.stranger, byHand.ID, days(7))
	assertKind(t, fault.NotFound, err)
	_, _, err = w.store.AddShare(ctx, w.asPlayer[0], byHand.ID, days(7))
	assertKind(t, fault.Forbidden, err)
}

func TestExports(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(2)
	b := w.balls(id)
	r := w.reel(tagging.ReelInput{Title: "R", Balls: picked(b[1].ID, b[0].ID)})
	e, err := w.store.AddExport(ctx, w.analyst, r.ID, true)
	require.NoError(t, err)
	assert.Equal(t, tagging.ExportWaiting, e.State)
	assert.True(t, e.Burn)
	require.Len(t, w.jobs("export_reel"), 1)
	got, p, err := w.store.ExportForJob(ctx, e.ID)
	require.NoError(t, err)
	assert.Equal(t, e, got)
	require.Len(t, p.Items, 2)
	assert.Equal(t, b[1].ID, p.Items[0].Ball.ID)

	require.NoError(t, w.store.SetExport(ctx, e.ID, tagging.ExportWorking, 0.5, "", ""))
	require.NoError(t, w.store.SetExport(ctx, e.ID, tagging.ExportDone, 1, "", "WEBVTT\n"))
	require.NoError(t, w.store.SetExport(ctx, e.ID, tagging.ExportWorking, 0.2, "", ""), "a late word changes nothing")
	done, captions, err := w.store.Export(ctx, w.coach, e.ID)
	require.NoError(t, err)
	assert.Equal(t, tagging.ExportDone, done.State)
	assert.Equal(t, "WEBVTT\n", captions)
	assertKind(t, fault.Conflict, w.store.CancelExport(ctx, w.coach, e.ID))

	second, err := w.store.AddExport(ctx, w.coach, r.ID, false)
	require.NoError(t, err)
	list, err := w.store.Exports(ctx, w.coach, r.ID)
	require.NoError(t, err)
	require.Len(t, list, 2)
	assert.Equal(t, second.ID, list[0].ID, "newest first")
	w.work()
	third, err := w.store.AddExport(ctx, w.coach, r.ID, false)
	require.NoError(t, err)
	assertKind(t, fault.NotFound, w.store.CancelExport(ctx, w.stranger, third.ID))
	assertKind(t, fault.Forbidden, w.store.CancelExport(ctx, w.asPlayer[0], third.ID))
	for range 2 {
		require.NoError(t, w.store.CancelExport(ctx, w.coach, third.ID))
	}
	assert.Empty(t, w.jobs("export_reel"), "its work is out of the queue")
	require.NoError(t, w.store.SetExport(ctx, third.ID, tagging.ExportDone, 1, "", "x"), "a worker that had not noticed")
	cancelled, _, err := w.store.Export(ctx, w.coach, third.ID)
	require.NoError(t, err)
	assert.Equal(t, tagging.ExportCancelled, cancelled.State)

	for _, v := range []tagging.Viewer{w.stranger, w.asPlayer[0]} {
		_, _, err = w.store.Export(ctx, v, e.ID)
		assertKind(t, fault.NotFound, err)
	}
	_, err = w.store.AddExport(ctx, w.asPlayer[0], r.ID, true)
	assertKind(t, fault.Forbidden, err)
	_, err = w.store.AddExport(ctx, w.stranger, r.ID, true)
	assertKind(t, fault.NotFound, err)
	_, err = w.store.AddExport(ctx, w.coach, w.reel(tagging.ReelInput{Title: "Empty"}).ID, true)
	assertKind(t, fault.Conflict, err)

	fourth, err := w.store.AddExport(ctx, w.coach, r.ID, false)
	require.NoError(t, err)
	require.NoError(t, w.store.DeleteReel(ctx, w.coach, r.ID))
	assert.Empty(t, w.jobs("export_reel"))
	_, _, err = w.store.ExportForJob(ctx, fourth.ID)
	assertKind(t, fault.NotFound, err)
}
