package db

import (
	"context"
	"errors"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"netreel/tagging"
	"netreel/tagging/measure"
)

// Readings of formulas that have changed since, a batch after another.
const sqlOldReadings = `
	SELECT r.id, r.account_id, s.squad_id
	FROM reading r JOIN delivery d ON d.id = r.delivery_id JOIN net_session s ON s.id = d.session_id
	WHERE r.holds AND r.formula < @formula AND d.state <> 'discarded' AND r.id > @after
	ORDER BY r.id LIMIT 100`

type oldReading struct {
	ID, AccountID, SquadID int64
}

// RenewReadings computes anew, from their points, the readings whose values are
// of formulas that have changed since. Each is superseded by one of the same
// points, status and person. It may be stopped anywhere: a reading is done or
// it is not. One that can't be computed is told of and left as it is.
func (s *Store) RenewReadings(ctx context.Context) error {
	const op = "db.RenewReadings"
	var failed []error
	for after := int64(0); ; {
		batch, err := all[oldReading](ctx, s.pool, sqlOldReadings, args{"formula": measure.Formula, "after": after})
		if err != nil {
			return trouble(op, err)
		}
		if len(batch) == 0 {
			return errors.Join(failed...)
		}
		for _, old := range batch {
			after = old.ID
			if err := s.renewReading(ctx, old); ctx.Err() != nil {
				return trouble(op, ctx.Err())
			} else if err != nil {
				failed = append(failed, fmt.Errorf("reading %d: %w", old.ID, err))
			}
		}
	}
}

func (s *Store) renewReading(ctx context.Context, old oldReading) error {
	return s.inTx(ctx, "db.RenewReadings", func(tx pgx.Tx) error {
		// A person may have superseded it meanwhile.
		list, err := readings(ctx, tx, sqlReading, args{"id": old.ID, "squad": old.SquadID})
		if err != nil || len(list) == 0 {
			return err
		}
		in := list[0].Input
		in.UUID = uuid.New()
		_, err = again(ctx, tx, tagging.Viewer{SquadID: old.SquadID, AccountID: old.AccountID}, in)
		return err
	})
}
