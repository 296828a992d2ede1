package db_test

import (
	"sync"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/db"
	"netreel/db/dbtest"
	"netreel/media/fault"
)

// empty makes a database of the test's own as bare as a new one.
func empty(t *testing.T) string {
	t.Helper()
	url := dbtest.New(t)
	conn, err := pgx.Connect(t.Context(), url)
	require.NoError(t, err)
	_, err = conn.Exec(t.Context(), `DROP SCHEMA public CASCADE; CREATE SCHEMA public`)
	require.NoError(t, err)
	require.NoError(t, conn.Close(t.Context()))
	return url
}

func TestMigrateFromNothingByManyAtOnce(t *testing.T) {
	t.Parallel()
	url := empty(t)
	var wait sync.WaitGroup
	errs := make([]error, 4)
	for i := range errs {
		wait.Go(func() { errs[i] = db.Migrate(t.Context(), url, quiet(t)) })
	}
	wait.Wait()
	for _, err := range errs {
		require.NoError(t, err)
	}
	require.NoError(t, db.Migrate(t.Context(), url, quiet(t)), "once more does no harm")

	store, err := db.Open(t.Context(), url, quiet(t))
	require.NoError(t, err)
	defer store.Close()
	_, _, fresh, err := store.FirstCoach(t.Context(), "Fenland Women", "Ada Marsh")
	require.NoError(t, err)
	assert.True(t, fresh)
}

func TestEveryForeignKeyHasAnIndex(t *testing.T) {
	t.Parallel()
	// Without one, deleting what is pointed at reads the whole table. Exempt are keys whose other side is never
	// deleted: squads, accounts and players are disabled or retired instead.
	rows, err := dbtest.Store(t).Pool().Query(t.Context(), `
		SELECT c.conrelid::regclass || '.' || a.attname
		FROM pg_constraint c JOIN pg_attribute a ON a.attrelid = c.conrelid AND a.attnum = c.conkey[1]
		WHERE c.contype = 'f' AND c.connamespace = 'public'::regnamespace
		  AND c.confrelid::regclass::text NOT IN ('squad', 'account', 'player')
		  AND NOT EXISTS (SELECT FROM pg_index i WHERE i.indrelid = c.conrelid AND i.indkey[0] = c.conkey[1])
		  AND c.conrelid::regclass::text NOT LIKE 'river%'`)
	require.NoError(t, err)
	missing, err := pgx.CollectRows(rows, pgx.RowTo[string])
	require.NoError(t, err)
	assert.Empty(t, missing)
}

func TestOpenSaysWhatIsWrong(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		url  string
		kind fault.Kind
	}{
		"not an address": {"postgres://%%%", fault.Invalid},
		"nobody there":   {"postgres:///x?host=/nowhere", fault.Unavailable},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			_, err := db.Open(t.Context(), c.url, quiet(t))
			assertKind(t, c.kind, err)
			assertKind(t, c.kind, db.Migrate(t.Context(), c.url, quiet(t)))
		})
	}
}
