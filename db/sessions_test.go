package db_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/fault"
	"netreel/tagging"
)

func TestSessions(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	in := tagging.SessionInput{
		Title: "Front foot", HeldOn: "2026-02-03", Place: "Hall", Note: "full balls", Focus: []string{"shot", "base"},
		Players: []int64{w.players[1].ID, w.players[0].ID},
	}
	s, err := w.store.AddSession(ctx, w.analyst, in)
	require.NoError(t, err)
	assert.Equal(t, "2026-02-03", s.HeldOn)
	assert.Equal(t, []string{"shot", "base"}, s.Focus)
	require.Len(t, s.Players, 2)
	assert.Equal(t, "Dot Sedge", s.Players[0].Name, "in the order given")

	older, err := w.store.AddSession(ctx, w.coach, tagging.SessionInput{Title: "Older", HeldOn: "2026-01-01"})
	require.NoError(t, err)
	assert.Equal(t, tagging.DefaultFocus(), older.Focus)
	list, err := w.store.Sessions(ctx, w.coach)
	require.NoError(t, err)
	require.Len(t, list, 2)
	assert.Equal(t, s, list[0], "newest first")

	in.Title, in.Players, in.Focus = "Back foot", nil, nil
	s, err = w.store.ChangeSession(ctx, w.coach, s.ID, in)
	require.NoError(t, err)
	assert.Equal(t, "Back foot", s.Title)
	assert.Empty(t, s.Players)

	for name, change := range map[string]func(*tagging.SessionInput){
		"no title":              func(in *tagging.SessionInput) { in.Title = " " },
		"no date":               func(in *tagging.SessionInput) { in.HeldOn = "" },
		"a day not in calendar": func(in *tagging.SessionInput) { in.HeldOn = "2026-02-30" },
		"a group not there":     func(in *tagging.SessionInput) { in.Focus = []string{"grip"} },
		"a group twice":         func(in *tagging.SessionInput) { in.Focus = []string{"shot", "shot"} },
		"a player not there":    func(in *tagging.SessionInput) { in.Players = []int64{999} },
		"a player twice":        func(in *tagging.SessionInput) { in.Players = []int64{w.players[0].ID, w.players[0].ID} },
	} {
		bad := in
		change(&bad)
		_, err := w.store.ChangeSession(ctx, w.coach, s.ID, bad)
		assert.Equal(t, fault.Invalid, fault.KindOf(err), name)
	}

	_, err = w.store.Session(ctx, w.stranger, s.ID)
	assertKind(t, fault.NotFound, err)
	_, err = w.store.ChangeSession(ctx, w.stranger, s.ID, tagging.SessionInput{Title: "X", HeldOn: "2026-01-01"})
	assertKind(t, fault.NotFound, err)
	_, err = w.store.AddSession(ctx, w.asPlayer[0], in)
	assertKind(t, fault.Forbidden, err)
	assertKind(t, fault.Forbidden, w.store.DeleteSession(ctx, w.analyst, s.ID))
	assertKind(t, fault.NotFound, w.store.DeleteSession(ctx, w.stranger, s.ID))
	require.NoError(t, w.store.DeleteSession(ctx, w.coach, s.ID))
	_, err = w.store.Session(ctx, w.coach, s.ID)
	assertKind(t, fault.NotFound, err)
}

func TestSessionCounts(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(4)
	balls := w.balls(id)
	w.say(w.coach, term(balls[0].ID, "shot", "pull"), note(balls[1].ID, "late"))
	b := as(w.lane(id)[3])
	b.State = tagging.Discarded
	w.edit(id, b)
	s, err := w.store.Session(ctx, w.coach, id)
	require.NoError(t, err)
	assert.Equal(t, [3]int{1, 3, 1}, [3]int{s.Recordings, s.Balls, s.Coded}, "recordings, balls, coded: a note is no code")
}

func TestTheNoteOfASessionIsTheStaffs(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(1)
	now, err := w.store.Session(ctx, w.coach, id)
	require.NoError(t, err)
	_, err = w.store.ChangeSession(ctx, w.coach, id, tagging.SessionInput{
		Title: now.Title, HeldOn: now.HeldOn, Note: "Dot plays across the line.", Players: []int64{w.players[0].ID},
	})
	require.NoError(t, err)
	for _, v := range []tagging.Viewer{w.coach, w.analyst, w.asPlayer[0]} {
		one, err := w.store.Session(ctx, v, id)
		require.NoError(t, err)
		list, err := w.store.Sessions(ctx, v)
		require.NoError(t, err)
		require.Len(t, list, 1)
		assert.Equal(t, v.Role.Staff(), one.Note != "", v.Role)
		assert.Equal(t, one.Note, list[0].Note)
	}
}

func TestDeleteSessionStopsItsWork(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	id, _ := w.filmed(3)
	other, _ := w.filmed(1)
	ball := w.balls(id)[0].ID
	w.say(w.coach, term(ball, "shot", "pull"))
	require.NotEmpty(t, w.jobs("smooth_clip"))
	require.NoError(t, w.store.DeleteSession(t.Context(), w.coach, id))
	assert.Len(t, w.jobs("smooth_clip"), 1, "of the other session")
	assert.Len(t, w.jobs("cut_clips"), 1)
	assert.Len(t, w.balls(other), 1)
}

func block(name string, from, to float64) tagging.Block {
	return tagging.Block{Name: name, Span: media.Span{Start: seconds(from), End: seconds(to)}}
}

func TestBlocksAndWhoseBallsTheyAre(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(4) // contacts at 3, 9, 15 and 21 s
	first, second := block("Throw-downs", 0, 9), block("Machine", 9, 21)
	first.Feed, second.PlayerID, second.Aim = "throw-down", w.players[1].ID, 12
	set, err := w.store.SetBlocks(ctx, w.analyst, id, []tagging.Block{second, first})
	require.NoError(t, err)
	require.Len(t, set, 2)
	first.ID, second.ID = set[0].ID, set[1].ID
	assert.Equal(t, []tagging.Block{first, second}, set, "in the order of the lane")

	type owner struct{ Block, Player int64 }
	owners := func() (list []owner) {
		for _, b := range w.balls(id) {
			list = append(list, owner{b.BlockID, b.PlayerID})
		}
		return list
	}
	cleo, dot := w.players[0].ID, w.players[1].ID
	assert.Equal(t, []owner{{first.ID, cleo}, {second.ID, dot}, {second.ID, dot}, {0, cleo}}, owners(),
		"a contact on the edge belongs to the block that begins there")

	b := as(w.lane(id)[1])
	b.BatterID = cleo
	w.edit(id, b)
	_, err = w.store.ChangeSession(ctx, w.coach, id, tagging.SessionInput{Title: "X", HeldOn: "2026-01-01", Players: []int64{cleo, dot}})
	require.NoError(t, err)
	assert.Equal(t, []owner{{first.ID, 0}, {second.ID, cleo}, {second.ID, dot}, {0, 0}}, owners(),
		"a person's word first, then the block's; with two players nobody's")

	second.Span.Start = seconds(12)
	set, err = w.store.SetBlocks(ctx, w.coach, id, []tagging.Block{second})
	require.NoError(t, err)
	assert.Equal(t, []tagging.Block{second}, set)
	assert.Equal(t, []owner{{0, 0}, {0, cleo}, {second.ID, dot}, {0, 0}}, owners())
}

func TestBlocksRefused(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id := w.session()
	for name, list := range map[string][]tagging.Block{
		"no name":            {block("", 0, 1)},
		"no length":          {block("A", 1, 1)},
		"overlapping":        {block("A", 0, 2), block("B", 1, 3)},
		"a term not there":   {{Name: "A", Span: media.Span{End: 1}, Feed: "catapult"}},
		"a player not there": {{Name: "A", Span: media.Span{End: 1}, PlayerID: 999}},
		"too many balls":     {{Name: "A", Span: media.Span{End: 1}, Aim: 1001}},
		"an id twice":        {{ID: 1, Name: "A", Span: media.Span{End: 1}}, {ID: 1, Name: "B", Span: media.Span{Start: 2, End: 3}}},
	} {
		_, err := w.store.SetBlocks(ctx, w.coach, id, list)
		assert.Equal(t, fault.Invalid, fault.KindOf(err), name)
	}
	set, err := w.store.SetBlocks(ctx, w.coach, id, []tagging.Block{block("A", 0, 1)})
	require.NoError(t, err)
	_, err = w.store.SetBlocks(ctx, w.coach, id, nil)
	require.NoError(t, err)
	_, err = w.store.SetBlocks(ctx, w.coach, id, set)
	assertKind(t, fault.Conflict, err) // somebody deleted it
	_, err = w.store.SetBlocks(ctx, w.stranger, id, nil)
	assertKind(t, fault.NotFound, err)
	_, err = w.store.SetBlocks(ctx, w.asPlayer[0], id, nil)
	assertKind(t, fault.Forbidden, err)
}
