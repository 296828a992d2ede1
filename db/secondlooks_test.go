package db_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/fault"
	"netreel/tagging"
)

// coded is a session whose balls the coach coded: every third was pulled, the
// rest driven, and one has a note alone.
func (w *world) coded(balls int) int64 {
	w.t.Helper()
	session, _ := w.filmed(balls)
	list := w.balls(session)
	for i, b := range list[:balls-1] {
		shot := "drive"
		if i%3 == 0 {
			shot = "pull"
		}
		w.say(w.coach, term(b.ID, "shot", shot), term(b.ID, "feet", "forward"))
	}
	w.say(w.coach, note(list[balls-1].ID, "hands"))
	return session
}

func (w *world) look(session int64, in tagging.LookInput) tagging.SecondLook {
	w.t.Helper()
	look, err := w.store.AddSecondLook(w.t.Context(), w.coach, session, in)
	require.NoError(w.t, err)
	return look
}

func TestSecondLookIsBlind(t *testing.T) {
	t.Parallel()
	w, ctx := newWorld(t), t.Context()
	session := w.coded(10)
	look := w.look(session, tagging.LookInput{
		FirstID: w.coach.AccountID, SecondID: w.analyst.AccountID, Groups: []string{"shot", "length"}, Spread: "shot", Balls: 6,
	})
	assert.Equal(t, []any{6, 0, "Ada Marsh", "Bo Ferry"}, []any{look.Count, look.Done, look.First, look.Second})
	require.Len(t, look.Balls, 6)
	assert.False(t, look.FirstCoded.IsZero())
	for _, v := range []tagging.Viewer{w.coach, w.analyst} {
		k, err := w.store.SecondLook(ctx, v, look.ID)
		require.NoError(t, err)
		for _, b := range k.Balls {
			assert.Empty(t, b.First)
			assert.Empty(t, b.Ball.Seen)
			assert.Len(t, b.Ball.Clips, 1)
		}
	}

	ball := look.Balls[0].Ball.ID
	require.NoError(t, w.store.SaveLookBall(ctx, w.analyst, look.ID, ball, tagging.Codes{"shot": {"cut"}}))
	require.NoError(t, w.store.SaveLookBall(ctx, w.analyst, look.ID, ball, tagging.Codes{"shot": {"pull"}, "length": {"short"}}))
	require.NoError(t, w.store.SaveLookBall(ctx, w.analyst, look.ID, look.Balls[1].Ball.ID, nil))
	own, err := w.store.SecondLook(ctx, w.analyst, look.ID)
	require.NoError(t, err)
	assert.Equal(t, 2, own.Done)
	assert.Equal(t, tagging.Codes{"shot": {"pull"}, "length": {"short"}}, own.Balls[0].Second)
	others, err := w.store.SecondLook(ctx, w.coach, look.ID)
	require.NoError(t, err)
	assert.Empty(t, others.Balls[0].Second, "not before it is finished")
	assert.Equal(t, []string{"shot=drive", "feet=forward"}, said(w.balls(session)[1].Seen), "the ledger knows nothing of it")

	// What the first coder changes now comes too late.
	for _, b := range w.balls(session) {
		w.say(w.coach, term(b.ID, "shot", "hook"))
	}
	require.NoError(t, w.store.FinishSecondLook(ctx, w.analyst, look.ID))
	require.NoError(t, w.store.FinishSecondLook(ctx, w.analyst, look.ID), "again")
	done, err := w.store.SecondLook(ctx, w.coach, look.ID)
	require.NoError(t, err)
	require.NotNil(t, done.Finished)
	shots := map[string]int{}
	for _, b := range done.Balls {
		shots[b.First["shot"][0]]++
		assert.NotContains(t, b.First, "feet")
	}
	assert.Equal(t, map[string]int{"pull": 2, "drive": 4}, shots, "spread over the shots")
	assert.Equal(t, tagging.Codes{"shot": {"pull"}, "length": {"short"}}, done.Balls[0].Second)
	err = w.store.SaveLookBall(ctx, w.analyst, look.ID, ball, nil)
	assert.Equal(t, fault.Conflict, fault.KindOf(err))

	all, err := w.store.FinishedLooks(ctx, w.coach)
	require.NoError(t, err)
	require.Len(t, all, 1)
	assert.Len(t, all[0].Balls, 6)
	theirs, err := w.store.FinishedLooks(ctx, w.stranger)
	require.NoError(t, err)
	assert.Empty(t, theirs)
}

func TestSecondLookOfOneself(t *testing.T) {
	t.Parallel()
	w, ctx := newWorld(t), t.Context()
	session := w.coded(8)
	look := w.look(session, tagging.LookInput{FirstID: w.coach.AccountID, SecondID: w.coach.AccountID, Groups: []string{"shot"}, Balls: 100})
	assert.Equal(t, 7, look.Count, "all that are coded")
	assert.Nil(t, look.Begun)
	require.NoError(t, w.store.SaveLookBall(ctx, w.coach, look.ID, look.Balls[0].Ball.ID, tagging.Codes{"shot": {"sweep"}}))
	assert.NotContains(t, said(w.balls(session)[0].Seen), "shot=sweep", "one's own first words are not superseded")
	begun, err := w.store.SecondLook(ctx, w.coach, look.ID)
	require.NoError(t, err)
	require.NotNil(t, begun.Begun, "something was said")
	assert.False(t, begun.Begun.Before(begun.FirstCoded))

	gone := as(w.balls(session)[0])
	gone.State = tagging.Discarded
	w.edit(session, gone)
	list, err := w.store.SecondLooks(ctx, w.analyst, session)
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.Equal(t, 6, list[0].Count, "a discarded ball drops out")
	assert.Empty(t, list[0].Balls)

	require.NoError(t, w.store.DropSecondLook(ctx, w.analyst, look.ID))
	_, err = w.store.SecondLook(ctx, w.coach, look.ID)
	assert.Equal(t, fault.NotFound, fault.KindOf(err))
}

func TestSecondLookRefuses(t *testing.T) {
	t.Parallel()
	w, ctx := newWorld(t), t.Context()
	session := w.coded(6)
	good := tagging.LookInput{FirstID: w.coach.AccountID, SecondID: w.analyst.AccountID, Groups: []string{"shot"}, Balls: 5}
	look := w.look(session, good)
	ball := look.Balls[0].Ball.ID
	other := w.balls(session)[slices.IndexFunc(w.balls(session), func(b tagging.Ball) bool {
		return !slices.ContainsFunc(look.Balls, func(l tagging.LookBall) bool { return l.Ball.ID == b.ID })
	})].ID
	add := func(v tagging.Viewer, change func(*tagging.LookInput)) error {
		in := good
		change(&in)
		_, err := w.store.AddSecondLook(ctx, v, session, in)
		return err
	}
	save := func(v tagging.Viewer, ball int64, said tagging.Codes) error {
		return w.store.SaveLookBall(ctx, v, look.ID, ball, said)
	}
	same := func(*tagging.LookInput) {}
	for name, c := range map[string]struct {
		err  error
		kind fault.Kind
	}{
		"a player draws":             {add(w.asPlayer[0], same), fault.Forbidden},
		"a stranger draws":           {add(w.stranger, same), fault.NotFound},
		"no balls":                   {add(w.coach, func(in *tagging.LookInput) { in.Balls = 0 }), fault.Invalid},
		"too many balls":             {add(w.coach, func(in *tagging.LookInput) { in.Balls = 201 }), fault.Invalid},
		"no groups":                  {add(w.coach, func(in *tagging.LookInput) { in.Groups = nil }), fault.Invalid},
		"an unknown group":           {add(w.coach, func(in *tagging.LookInput) { in.Groups = []string{"hat"} }), fault.Invalid},
		"spread over another group":  {add(w.coach, func(in *tagging.LookInput) { in.Spread = "feet" }), fault.Invalid},
		"a player looks":             {add(w.coach, func(in *tagging.LookInput) { in.SecondID = w.asPlayer[0].AccountID }), fault.Invalid},
		"a stranger looks":           {add(w.coach, func(in *tagging.LookInput) { in.SecondID = w.stranger.AccountID }), fault.Invalid},
		"nothing coded":              {add(w.coach, func(in *tagging.LookInput) { in.FirstID = w.analyst.AccountID }), fault.Invalid},
		"another coder answers":      {save(w.coach, ball, nil), fault.Forbidden},
		"a player answers":           {save(w.asPlayer[0], ball, nil), fault.Forbidden},
		"a stranger answers":         {save(w.stranger, ball, nil), fault.NotFound},
		"a ball not drawn":           {save(w.analyst, other, nil), fault.NotFound},
		"a group not asked for":      {save(w.analyst, ball, tagging.Codes{"feet": {"back"}}), fault.Invalid},
		"a term that is not offered": {save(w.analyst, ball, tagging.Codes{"shot": {"scoop"}}), fault.Invalid},
		"two of one":                 {save(w.analyst, ball, tagging.Codes{"shot": {"cut", "pull"}}), fault.Invalid},
		"another coder finishes":     {w.store.FinishSecondLook(ctx, w.coach, look.ID), fault.Forbidden},
		"a stranger removes":         {w.store.DropSecondLook(ctx, w.stranger, look.ID), fault.NotFound},
		"an analyst sets the floor":  {w.store.SetTrustFloor(ctx, w.analyst, .5), fault.Forbidden},
		"no floor":                   {w.store.SetTrustFloor(ctx, w.coach, math.NaN()), fault.Invalid},
		"a floor above all":          {w.store.SetTrustFloor(ctx, w.coach, 1.1), fault.Invalid},
	} {
		require.Error(t, c.err, name)
		assert.Equal(t, c.kind, fault.KindOf(c.err), "%s: %v", name, c.err)
	}
	_, err := w.store.SecondLook(ctx, w.asPlayer[0], look.ID)
	assert.Equal(t, fault.NotFound, fault.KindOf(err))
	_, err = w.store.SecondLooks(ctx, w.asPlayer[0], session)
	assert.Equal(t, fault.NotFound, fault.KindOf(err))
	_, err = w.store.FinishedLooks(ctx, w.asPlayer[0])
	assert.Equal(t, fault.NotFound, fault.KindOf(err))
}

func TestTrustFloor(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	floor, err := w.store.TrustFloor(t.Context(), w.analyst)
	require.NoError(t, err)
	assert.InDelta(t, .6, floor, 1e-12)
	require.NoError(t, w.store.SetTrustFloor(t.Context(), w.coach, .75))
	floor, err = w.store.TrustFloor(t.Context(), w.analyst)
	require.NoError(t, err)
	assert.InDelta(t, .75, floor, 1e-12)
}
