package db_test

import (
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/db/dbtest"
	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/vocabulary"
)

func TestFirstCoach(t *testing.T) {
	t.Parallel()
	ctx, store := t.Context(), dbtest.Store(t)
	_, _, _, err := store.FirstCoach(ctx, " ", "Ada Marsh")
	assertKind(t, fault.Invalid, err)

	a, secret, fresh, err := store.FirstCoach(ctx, "Fenland Women", "Ada Marsh")
	require.NoError(t, err)
	require.True(t, fresh)
	assert.Equal(t, "Fenland Women", a.Squad)
	assert.Equal(t, tagging.Coach, a.Role)
	e, err := store.Vocabulary(ctx, viewerOf(a), 0)
	require.NoError(t, err)
	assert.Equal(t, vocabulary.Default(), e, "a squad starts with the default vocabulary")

	again, second, fresh, err := store.FirstCoach(ctx, "Other", "Other")
	require.NoError(t, err)
	require.True(t, fresh, "the first link was never used: the server may have been killed before it printed it")
	assert.Equal(t, a.ID, again.ID)
	_, err = store.PeekLink(ctx, secret)
	assertKind(t, fault.NotFound, err)

	_, err = store.UseLink(ctx, second)
	require.NoError(t, err)
	_, none, fresh, err := store.FirstCoach(ctx, "Other", "Other")
	require.NoError(t, err)
	assert.False(t, fresh)
	assert.Empty(t, none)
}

func TestFirstCoachByTwoServersAtOnce(t *testing.T) {
	t.Parallel()
	store := dbtest.Store(t)
	ids := make([]int64, 4)
	var wait sync.WaitGroup
	for i := range ids {
		wait.Go(func() {
			a, _, _, err := store.FirstCoach(t.Context(), "Fenland Women", "Ada Marsh")
			assert.NoError(t, err)
			ids[i] = a.ID
		})
	}
	wait.Wait()
	assert.Equal(t, []int64{ids[0], ids[0], ids[0], ids[0]}, ids)
}

func TestLinks(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	who := w.asPlayer[0].AccountID

	secret, err := w.store.NewLink(ctx, w.coach, who, time.Hour)
	require.NoError(t, err)
	assert.Len(t, secret, 43, "32 random bytes in base64url without padding (RFC 4648, 5)")
	for range 2 {
		a, err := w.store.PeekLink(ctx, secret)
		require.NoError(t, err, "looking does not use it up")
		assert.Equal(t, who, a.ID)
	}
	var kept int
	require.NoError(t, w.store.Pool().QueryRow(ctx, `SELECT count(*) FROM one_time_link WHERE encode(secret_hash, 'escape') LIKE '%' || $1 || '%'`, secret).Scan(&kept))
	assert.Zero(t, kept, "the secret itself is not kept")

	used := make([]error, 3)
	var wait sync.WaitGroup
	for i := range used {
		wait.Go(func() { _, used[i] = w.store.UseLink(ctx, secret) })
	}
	wait.Wait()
	won := 0
	for _, err := range used {
		if err == nil {
			won++
			continue
		}
		assertKind(t, fault.NotFound, err)
	}
	assert.Equal(t, 1, won, "of those who use it at once, one gets in")

	expired, err := w.store.NewLinkFor(ctx, who, -time.Second)
	require.NoError(t, err)
	lost, err := w.store.NewLinkFor(ctx, who, time.Hour)
	require.NoError(t, err)
	last, err := w.store.NewLinkFor(ctx, who, time.Hour)
	require.NoError(t, err)
	_, err = w.store.ChangeAccount(ctx, w.coach, who, "Cleo Reed", "", true)
	require.NoError(t, err)
	for name, secret := range map[string]string{
		"used": secret, "expired": expired, "replaced": lost, "of a disabled account": last, "unknown": "x", "null": "a\x00b",
	} {
		_, err := w.store.PeekLink(ctx, secret)
		assertKind(t, fault.NotFound, err)
		_, err = w.store.UseLink(ctx, secret)
		assert.Equal(t, fault.NotFound, fault.KindOf(err), name)
	}

	_, err = w.store.NewLink(ctx, w.stranger, who, time.Hour)
	assertKind(t, fault.NotFound, err)
	_, err = w.store.NewLink(ctx, w.coach, 999, time.Hour)
	assertKind(t, fault.NotFound, err)
	_, err = w.store.NewLink(ctx, w.analyst, who, time.Hour)
	assertKind(t, fault.Forbidden, err)
}

func TestAccounts(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	p := w.players[0].ID

	a := w.account(tagging.NewAccount{Name: " Gail Tarn ", Email: "gail@example.org", Role: tagging.Coach})
	assert.Equal(t, "Gail Tarn", a.Name)
	got, hash, err := w.store.Login(ctx, "  GAIL@example.org ")
	require.NoError(t, err)
	assert.Equal(t, a, got)
	assert.Empty(t, hash)
	require.NoError(t, w.store.SetPassword(ctx, a.ID, "$argon2id$x"))
	got, hash, err = w.store.Login(ctx, "gail@example.org")
	require.NoError(t, err)
	assert.Equal(t, "$argon2id$x", hash)
	assert.True(t, got.HasLogin)
	for _, unknown := range []string{"nobody@example.org", "", "a\x00b"} {
		_, _, err = w.store.Login(ctx, unknown)
		assertKind(t, fault.NotFound, err)
	}

	for name, in := range map[string]tagging.NewAccount{
		"no name":                {Role: tagging.Coach},
		"a long name":            {Name: strings.Repeat("a", 81), Role: tagging.Coach},
		"a null":                 {Name: "a\x00", Role: tagging.Coach},
		"no role":                {Name: "Ivy"},
		"a player of nobody":     {Name: "Ivy", Role: tagging.PlayerRole},
		"a coach of somebody":    {Name: "Ivy", Role: tagging.Coach, PlayerID: p},
		"a player not there":     {Name: "Ivy", Role: tagging.PlayerRole, PlayerID: 999},
		"not an address":         {Name: "Ivy", Role: tagging.Coach, Email: "ivy"},
		"an address with a name": {Name: "Ivy", Role: tagging.Coach, Email: "Ivy <ivy@example.org>"},
	} {
		_, err := w.store.AddAccount(ctx, w.coach, in)
		assert.Equal(t, fault.Invalid, fault.KindOf(err), name)
	}
	_, err = w.store.AddAccount(ctx, w.coach, tagging.NewAccount{Name: "Ivy", Role: tagging.Analyst, Email: "Gail@Example.org"})
	assertKind(t, fault.Conflict, err)
	_, err = w.store.AddAccount(ctx, w.analyst, tagging.NewAccount{Name: "Ivy", Role: tagging.Analyst})
	assertKind(t, fault.Forbidden, err)
	_, err = w.store.AddAccount(ctx, w.stranger, tagging.NewAccount{Name: "Ivy", Role: tagging.PlayerRole, PlayerID: p})
	assertKind(t, fault.Invalid, err)

	list, err := w.store.Accounts(ctx, w.coach)
	require.NoError(t, err)
	var names []string
	for _, a := range list {
		names = append(names, a.Name)
	}
	assert.Equal(t, []string{"Ada Marsh", "Bo Ferry", "Gail Tarn", "Cleo Reed", "Dot Sedge"}, names)
	_, err = w.store.Accounts(ctx, w.asPlayer[0])
	assertKind(t, fault.Forbidden, err)
	theirs, err := w.store.Accounts(ctx, w.stranger)
	require.NoError(t, err)
	assert.Len(t, theirs, 1)
}

func TestTheLastCoachStays(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	_, err := w.store.ChangeAccount(ctx, w.coach, w.coach.AccountID, "Ada Marsh", "", true)
	assertKind(t, fault.Conflict, err)

	second := viewerOf(w.account(tagging.NewAccount{Name: "Gail Tarn", Role: tagging.Coach}))
	errs := make([]error, 2)
	var wait sync.WaitGroup
	wait.Go(func() { _, errs[0] = w.store.ChangeAccount(ctx, w.coach, second.AccountID, "Gail Tarn", "", true) })
	wait.Go(func() { _, errs[1] = w.store.ChangeAccount(ctx, second, w.coach.AccountID, "Ada Marsh", "", true) })
	wait.Wait()
	assert.True(t, (errs[0] == nil) != (errs[1] == nil), "two coaches who disable each other: %v", errs)

	_, err = w.store.ChangeAccount(ctx, w.stranger, w.analyst.AccountID, "X", "", false)
	assertKind(t, fault.NotFound, err)
}

func TestDisabledAccountsGetNowhere(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	a, err := w.store.ChangeAccount(ctx, w.coach, w.analyst.AccountID, "Bo Ferry", "bo@example.org", true)
	require.NoError(t, err)
	assert.True(t, a.Disabled)
	_, err = w.store.Account(ctx, a.ID)
	assertKind(t, fault.Unauthorised, err)
	_, err = w.store.Account(ctx, 999)
	assertKind(t, fault.Unauthorised, err)
	_, _, err = w.store.Login(ctx, "bo@example.org")
	assertKind(t, fault.NotFound, err)
	assertKind(t, fault.NotFound, w.store.SetPassword(ctx, a.ID, "x"))
	a, err = w.store.ChangeAccount(ctx, w.coach, a.ID, "Bo Ferry", "bo@example.org", false)
	require.NoError(t, err)
	got, err := w.store.Account(ctx, a.ID)
	require.NoError(t, err)
	assert.Equal(t, a, got)
}

func TestPlayers(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	p, err := w.store.AddPlayer(ctx, w.analyst, tagging.Player{Name: "Bea Holt", Bats: tagging.Left, HeightCM: 168.5, Note: "open stance"})
	require.NoError(t, err)
	p.Name, p.HeightCM, p.Retired = "Bea Holt-Lane", 0, true
	changed, err := w.store.ChangePlayer(ctx, w.coach, p)
	require.NoError(t, err)
	assert.Equal(t, p, changed)

	list, err := w.store.Players(ctx, w.coach)
	require.NoError(t, err)
	require.Len(t, list, 3)
	assert.Equal(t, p, list[2], "retired ones come last")
	own, err := w.store.Players(ctx, w.asPlayer[0])
	require.NoError(t, err)
	require.Len(t, own, 1, "a player sees themselves only")
	assert.Equal(t, w.players[0].ID, own[0].ID)
	assert.Empty(t, own[0].Note, "and not what coaches noted")

	for name, in := range map[string]tagging.Player{
		"no name": {Bats: tagging.Left}, "no hand": {Name: "X"}, "a giant": {Name: "X", Bats: tagging.Left, HeightCM: 300},
	} {
		_, err := w.store.AddPlayer(ctx, w.coach, in)
		assert.Equal(t, fault.Invalid, fault.KindOf(err), name)
	}
	_, err = w.store.AddPlayer(ctx, w.coach, tagging.Player{Name: "cleo reed", Bats: tagging.Right})
	assertKind(t, fault.Conflict, err)
	_, err = w.store.AddPlayer(ctx, w.asPlayer[0], tagging.Player{Name: "X", Bats: tagging.Right})
	assertKind(t, fault.Forbidden, err)
	_, err = w.store.ChangePlayer(ctx, w.stranger, tagging.Player{ID: p.ID, Name: "X", Bats: tagging.Right})
	assertKind(t, fault.NotFound, err)
	_, err = w.store.ChangePlayer(ctx, w.coach, tagging.Player{Name: "X", Bats: tagging.Right})
	assertKind(t, fault.NotFound, err)
}

func TestVocabularyEditions(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	e, err := w.store.Vocabulary(ctx, w.asPlayer[0], 0)
	require.NoError(t, err)

	same, err := w.store.SaveVocabulary(ctx, w.coach, e)
	require.NoError(t, err)
	assert.Equal(t, 1, same.Number, "nothing changed, nothing is kept")

	e.Groups = append(e.Groups, vocabulary.Group{Name: "Session", Terms: []vocabulary.Term{{Name: "Warm up"}, {Name: "Warm-up"}}})
	_, err = w.store.SaveVocabulary(ctx, w.coach, e)
	require.NoError(t, err, "%v", err)
	now, err := w.store.Vocabulary(ctx, w.coach, 0)
	require.NoError(t, err)
	assert.Equal(t, 2, now.Number)
	added := now.Groups[len(now.Groups)-1]
	assert.Equal(t, "session-2", added.Key, "a word of questions is no key")
	assert.Equal(t, "warm-up", added.Terms[0].Key)
	assert.Equal(t, "warm-up-2", added.Terms[1].Key)

	_, err = w.store.SaveVocabulary(ctx, w.coach, e)
	assertKind(t, fault.Conflict, err) // made from edition 1
	gone := now
	gone.Groups = gone.Groups[1:]
	_, err = w.store.SaveVocabulary(ctx, w.coach, gone)
	assertKind(t, fault.Invalid, err)
	_, err = w.store.SaveVocabulary(ctx, w.analyst, now)
	assertKind(t, fault.Forbidden, err)

	old, err := w.store.Vocabulary(ctx, w.coach, 1)
	require.NoError(t, err)
	assert.Equal(t, vocabulary.Default(), old)
	_, err = w.store.Vocabulary(ctx, w.coach, 9)
	assertKind(t, fault.NotFound, err)
	theirs, err := w.store.Vocabulary(ctx, w.stranger, 0)
	require.NoError(t, err)
	assert.Equal(t, 1, theirs.Number, "another squad's is its own")
}

func TestRenameSquad(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	require.NoError(t, w.store.RenameSquad(t.Context(), w.coach, " Fen Women "))
	a, err := w.store.Account(t.Context(), w.coach.AccountID)
	require.NoError(t, err)
	assert.Equal(t, "Fen Women", a.Squad)
	assertKind(t, fault.Invalid, w.store.RenameSquad(t.Context(), w.coach, ""))
	assertKind(t, fault.Forbidden, w.store.RenameSquad(t.Context(), w.analyst, "X"))
}
