package db

import (
	"context"
	"errors"
	"fmt"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/stretchr/testify/assert"

	"netreel/media/fault"
)

// Codes by PostgreSQL's documentation, appendix A.
func TestTrouble(t *testing.T) {
	t.Parallel()
	pg := func(code, constraint string) error {
		return fmt.Errorf("wrapped: %w", &pgconn.PgError{Code: code, ConstraintName: constraint, Message: "column secret of table hidden"})
	}
	cases := []struct {
		name string
		err  error
		kind fault.Kind
	}{
		{"unique_violation", pg("23505", "account_email"), fault.Conflict},
		{"unique_violation nobody thought of", pg("23505", "x"), fault.Conflict},
		{"foreign_key_violation", pg("23503", "x"), fault.NotFound},
		{"check_violation", pg("23514", "x"), fault.Invalid},
		{"numeric_value_out_of_range", pg("22003", ""), fault.Invalid},
		{"character_not_in_repertoire", pg("22021", ""), fault.Invalid},
		{"serialization_failure", pg("40001", ""), fault.Unavailable},
		{"deadlock_detected", pg("40P01", ""), fault.Unavailable},
		{"disk_full", pg("53100", ""), fault.Unavailable},
		{"too_many_connections", pg("53300", ""), fault.Unavailable},
		{"admin_shutdown", pg("57P01", ""), fault.Unavailable},
		{"undefined_column", pg("42703", ""), fault.Internal},
		{"no rows", pgx.ErrNoRows, fault.NotFound},
		{"cancelled", fmt.Errorf("x: %w", context.Canceled), fault.Unavailable},
		{"too late", fmt.Errorf("x: %w", context.DeadlineExceeded), fault.Unavailable},
		{"anything else", errors.New("boom"), fault.Internal},
		{"a fault stays one", fmt.Errorf("x: %w", fault.New(fault.Forbidden, "", "No.")), fault.Forbidden},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			err := trouble("db.X", c.err)
			assert.Equal(t, c.kind, fault.KindOf(err))
			assert.NotContains(t, fault.Message(err), "hidden", "the log alone learns of tables")
			assert.ErrorIs(t, err, c.err)
		})
	}
	assert.NoError(t, trouble("db.X", nil))
}

func TestTransactionsGivenUpAreTriedAgain(t *testing.T) {
	t.Parallel()
	assert.True(t, givenUp(&pgconn.PgError{Code: "40P01"}))
	assert.True(t, givenUp(&pgconn.PgError{Code: "40001"}))
	assert.False(t, givenUp(&pgconn.PgError{Code: "23505"}))
	assert.False(t, givenUp(errors.New("x")))
}
