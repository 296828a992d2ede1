package db

import (
	"context"
)

// River would let a killed server's jobs wait out their time limit before they
// are taken up again. A server that starts knows better: it holds its data
// folder's lock, so whatever runs under its name runs no more.
const sqlTakeBack = `
	UPDATE river_job SET
		state = CASE WHEN metadata ? 'cancel_attempted_at' THEN 'cancelled' ELSE 'available' END::river_job_state,
		finalized_at = CASE WHEN metadata ? 'cancel_attempted_at' THEN now() END,
		scheduled_at = now()
	WHERE state = 'running' AND attempted_by[array_upper(attempted_by, 1)] = @name`

// TakeBack puts the jobs that a server of this name was working on when it was
// killed back into the queue, and returns how many. Each has used one of its
// attempts, so that a job which brings the server down is not tried for ever.
func (s *Store) TakeBack(ctx context.Context, name string) (int64, error) {
	tag, err := s.pool.Exec(ctx, sqlTakeBack, args{"name": name})
	return tag.RowsAffected(), trouble("db.TakeBack", err)
}
