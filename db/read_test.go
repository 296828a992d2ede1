package db_test

import (
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/db"
	"netreel/tagging"
)

// What is read by several statements is of one moment, and nothing is written
// by them (PostgreSQL documentation, "Repeatable Read Isolation Level").
func TestReadingSeesOneMoment(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	players := func(tx pgx.Tx) (n int) {
		require.NoError(t, tx.QueryRow(t.Context(), `SELECT count(*) FROM player`).Scan(&n))
		return n
	}
	require.NoError(t, db.Read(w.store, t.Context(), "test", func(tx pgx.Tx) error {
		before := players(tx)
		_, err := w.store.AddPlayer(t.Context(), w.coach, tagging.Player{Name: "Fay Holm", Bats: tagging.Left})
		require.NoError(t, err)
		assert.Equal(t, before, players(tx))
		return nil
	}))
	assert.ErrorContains(t, db.Read(w.store, t.Context(), "test", func(tx pgx.Tx) error {
		_, err := tx.Exec(t.Context(), `DELETE FROM player`)
		return err
	}), "read-only")
}
