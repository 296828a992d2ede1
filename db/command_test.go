package db_test

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/db/dbtest"
	"netreel/media"
	"netreel/media/fault"
	"netreel/tagging"
)

func TestCommandsFindPeople(t *testing.T) {
	t.Parallel()
	_, err := dbtest.Store(t).FirstCoachOf(t.Context())
	assertKind(t, fault.NotFound, err)

	w := newWorld(t)
	ctx := t.Context()
	a := w.account(tagging.NewAccount{Name: "Gail Tarn", Email: "gail@example.org", Role: tagging.Coach})
	for _, name := range []string{"Gail@Example.org", strconv.FormatInt(a.ID, 10)} {
		got, err := w.store.AccountNamed(ctx, name)
		require.NoError(t, err)
		assert.Equal(t, a, got)
	}
	_, err = w.store.ChangeAccount(ctx, w.coach, a.ID, "Gail Tarn", "gail@example.org", true)
	require.NoError(t, err)
	for _, name := range []string{"gail@example.org", "nobody", "0", ""} {
		_, err := w.store.AccountNamed(ctx, name)
		assertKind(t, fault.NotFound, err)
	}
	first, err := w.store.FirstCoachOf(ctx)
	require.NoError(t, err)
	assert.Equal(t, w.coach, viewerOf(first))
	v, err := w.store.StaffOf(ctx, w.session())
	require.NoError(t, err)
	assert.Equal(t, w.coach, v)
	_, err = w.store.StaffOf(ctx, 999)
	assertKind(t, fault.NotFound, err)
}

func TestTakeBack(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id := w.session()
	for range 3 {
		w.upload(id, media.SideOn)
	}
	_, err := w.store.Pool().Exec(ctx, `UPDATE river_job SET state = 'running', attempted_at = now(),
			attempted_by = ARRAY['earlier', CASE WHEN id % 3 = 0 THEN 'other' ELSE 'this' END],
			metadata = CASE WHEN id % 3 = 1 THEN '{"cancel_attempted_at": "x"}'::jsonb ELSE '{}' END
		WHERE kind = 'probe_recording'`)
	require.NoError(t, err)
	n, err := w.store.TakeBack(ctx, "this")
	require.NoError(t, err)
	assert.EqualValues(t, 2, n)
	states := map[string]int{}
	for _, j := range w.jobs("probe_recording") {
		states[j.State]++
	}
	assert.Equal(t, map[string]int{"available": 1, "cancelled": 1, "running": 1}, states)
}
