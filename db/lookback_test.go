package db_test

import (
	"reflect"
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/find"
	"netreel/tagging/lookback"
)

// TestLookbackAgainstFind holds each number of a look-back against what its
// question finds in the same database.
func TestLookbackAgainstFind(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	balls := w.season(7)
	at := balls[0].SessionID
	for _, coder := range []int64{0, w.coach.AccountID, w.analyst.AccountID} {
		for _, player := range []int64{0, w.players[0].ID} {
			in, err := w.store.Lookback(t.Context(), w.coach, at, player)
			require.NoError(t, err)
			require.NotEmpty(t, in.Balls)
			in.Coder = coder
			var all []lookback.Cell
			cellsOf(reflect.ValueOf(lookback.Look(in)), &all)
			asked := map[string]int{}
			for _, c := range all {
				if c.N == 0 {
					continue
				}
				if _, known := asked[c.Question]; !known {
					q, err := find.Parse(c.Question)
					require.NoError(t, err)
					found, err := w.store.Find(t.Context(), w.coach, q, find.Page{Limit: 1})
					require.NoError(t, err)
					asked[c.Question] = found.Total
				}
				assert.Equal(t, asked[c.Question], c.N, c.Question)
			}
			require.NotEmpty(t, asked)
		}
	}
}

func cellsOf(v reflect.Value, into *[]lookback.Cell) {
	if c, ok := reflect.TypeAssert[lookback.Cell](v); ok {
		*into = append(*into, c)
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				cellsOf(v.Field(i), into)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			cellsOf(v.Index(i), into)
		}
	default:
	}
}

func TestLookbackIsForStaffOfTheSquad(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	session, _ := w.filmed(3)
	_, err := w.store.Lookback(t.Context(), w.stranger, session, 0)
	assertKind(t, fault.NotFound, err)
	_, err = w.store.Lookback(t.Context(), w.asPlayer[0], session, 0)
	assertKind(t, fault.NotFound, err)
	_, err = w.store.Lookback(t.Context(), w.coach, session, 999)
	assertKind(t, fault.NotFound, err)
	_, err = w.store.CountedBalls(t.Context(), w.asPlayer[0], find.Question{})
	assertKind(t, fault.Forbidden, err)
	theirs, err := w.store.CountedBalls(t.Context(), w.stranger, find.Question{})
	require.NoError(t, err)
	assert.Empty(t, theirs)
	_, err = w.store.Visits(t.Context(), w.stranger, w.players[0].ID)
	assertKind(t, fault.NotFound, err)
	in, err := w.store.Lookback(t.Context(), w.analyst, session, 0)
	require.NoError(t, err)
	assert.Len(t, in.Balls, 3)
}

func TestVisitsAndEarlierChallenges(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	var sessions []int64
	for range 2 {
		session, _ := w.filmed(4)
		card := block("Card", 0, 100)
		card.Challenge, card.Aim, card.PlayerID = true, 3, w.players[0].ID
		saved, err := w.store.SetBlocks(t.Context(), w.coach, session, []tagging.Block{card})
		require.NoError(t, err)
		assert.True(t, saved[0].Challenge)
		sessions = append(sessions, session)
	}
	visits, err := w.store.Visits(t.Context(), w.coach, w.players[0].ID)
	require.NoError(t, err)
	require.Len(t, visits, 2)
	assert.Equal(t, sessions, []int64{visits[0].Session, visits[1].Session}, "oldest first")
	assert.Len(t, visits[0].Balls, 4)
	assert.Equal(t, "Card", visits[0].Blocks[0].Name)
	second, err := w.store.Lookback(t.Context(), w.coach, sessions[1], 0)
	require.NoError(t, err)
	require.Len(t, second.Earlier, 1)
	assert.Equal(t, sessions[0], second.Earlier[0].Session)
	first, err := w.store.Lookback(t.Context(), w.coach, sessions[0], 0)
	require.NoError(t, err)
	assert.Empty(t, first.Earlier)
}

func TestRulesOfAPlayer(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx, player := t.Context(), w.players[0].ID
	none, revision, err := w.store.Rules(ctx, w.coach, player)
	require.NoError(t, err)
	assert.Empty(t, none)
	assert.Zero(t, revision)
	revision, err = w.store.SaveRules(ctx, w.coach, player, lookback.UsualRules(), 0)
	require.NoError(t, err)
	assert.Equal(t, 1, revision)
	_, err = w.store.SaveRules(ctx, w.analyst, player, nil, 0)
	assertKind(t, fault.Conflict, err)
	kept, revision, err := w.store.Rules(ctx, w.analyst, player)
	require.NoError(t, err)
	assert.Equal(t, 1, revision)
	assert.Len(t, kept, len(lookback.UsualRules()))
	revision, err = w.store.SaveRules(ctx, w.analyst, player, nil, revision)
	require.NoError(t, err)
	assert.Equal(t, 2, revision)
	_, err = w.store.SaveRules(ctx, w.coach, player, lookback.Rules{{Want: "hope"}}, 2)
	assertKind(t, fault.Invalid, err)
	_, err = w.store.SaveRules(ctx, w.stranger, player, nil, 2)
	assertKind(t, fault.NotFound, err)
	_, _, err = w.store.Rules(ctx, w.stranger, player)
	assertKind(t, fault.NotFound, err)
	_, _, err = w.store.Rules(ctx, w.asPlayer[0], player)
	assertKind(t, fault.Forbidden, err)
}

func TestFeltIsTheirOwn(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	session, _ := w.filmed(2)
	mine := block("Short ball", 0, 100)
	mine.PlayerID = w.players[0].ID
	blocks, err := w.store.SetBlocks(ctx, w.coach, session, []tagging.Block{mine})
	require.NoError(t, err)
	ball := w.balls(session)[0].ID
	say := func(v tagging.Viewer, f lookback.Felt) error { return w.store.SayFelt(ctx, v, uuid.New(), f) }
	id := uuid.New()
	for range 2 { // sent again, kept once
		require.NoError(t, w.store.SayFelt(ctx, w.asPlayer[0], id, lookback.Felt{Ball: ball, Words: []string{"strong", "late"}}))
	}
	require.NoError(t, say(w.asPlayer[0], lookback.Felt{Block: blocks[0].ID, Words: []string{"clear"}}))
	assertKind(t, fault.NotFound, say(w.asPlayer[1], lookback.Felt{Ball: ball, Words: []string{"late"}}))
	assertKind(t, fault.NotFound, say(w.asPlayer[1], lookback.Felt{Block: blocks[0].ID, Words: []string{"late"}}))
	assertKind(t, fault.NotFound, say(w.stranger, lookback.Felt{Ball: ball, Words: []string{"late"}}))
	assertKind(t, fault.Invalid, say(w.coach, lookback.Felt{Ball: ball, Block: 3, Words: []string{"late"}}))
	assertKind(t, fault.Invalid, say(w.coach, lookback.Felt{Ball: ball, Words: []string{"grand"}}))
	assertKind(t, fault.Invalid, say(w.coach, lookback.Felt{Ball: ball, Words: []string{"late", "late"}}))

	felt := func(v tagging.Viewer) []lookback.Felt {
		list, err := w.store.Felt(ctx, v, []int64{ball}, []int64{blocks[0].ID})
		require.NoError(t, err)
		for i := range list {
			assert.NotEmpty(t, list[i].By)
			list[i].By, list[i].Said = "", time.Time{}
		}
		slices.SortFunc(list, func(a, b lookback.Felt) int { return int(a.Block - b.Block) })
		return list
	}
	want := []lookback.Felt{{Ball: ball, Words: []string{"strong", "late"}}, {Block: blocks[0].ID, Words: []string{"clear"}}}
	assert.Equal(t, want, felt(w.asPlayer[0]))
	assert.Equal(t, want, felt(w.coach))
	assert.Empty(t, felt(w.asPlayer[1]))
	assert.Empty(t, felt(w.stranger))
	require.NoError(t, say(w.coach, lookback.Felt{Ball: ball}), "taken back for the player")
	assert.Equal(t, []string{}, felt(w.asPlayer[0])[0].Words)
	in, err := w.store.Lookback(ctx, w.coach, session, 0)
	require.NoError(t, err)
	assert.Len(t, in.Felt, 2)
}
