package db

import (
	"context"
	"encoding/json"

	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/rivertype"

	"netreel/media/fault"
	"netreel/media/jobs"
)

// The queue's tables are River's. Only these statements look into them: River
// has no call that finds jobs by their arguments.
const (
	// Locked, so that no worker takes up a job between being found and being stopped.
	sqlWorkOnRecordings = `
		SELECT j.id, j.state = 'running' AS running FROM river_job j
		WHERE j.state IN ('available', 'pending', 'running', 'retryable', 'scheduled') AND (
			j.kind = ANY(@whole::text[]) AND (j.args ->> 'recording_id')::bigint = ANY(@recordings::bigint[])
			OR j.kind = @clip AND (j.args ->> 'clip_id')::bigint IN
				(SELECT c.id FROM clip c WHERE c.recording_id = ANY(@recordings)))
		FOR UPDATE`

	sqlWorkOnExport = `
		SELECT j.id, j.state = 'running' AS running FROM river_job j
		WHERE j.state IN ('available', 'pending', 'running', 'retryable', 'scheduled')
		  AND j.kind = @kind AND (j.args ->> 'export_id')::bigint = @id
		FOR UPDATE`

	sqlRaisePriority = `
		UPDATE river_job SET priority = @priority
		WHERE id = @id AND priority > @priority AND state IN ('available', 'pending', 'retryable', 'scheduled')`
)

// job is work to be queued; priority 0 is its kind's own.
type job struct {
	args     river.JobArgs
	priority int
}

// enqueue queues jobs in a transaction: they exist if it commits. One of the
// same arguments that waits or runs is not queued again; if it is just being
// stopped, that is fault.Conflict.
func (s *Store) enqueue(ctx context.Context, tx pgx.Tx, list ...job) error {
	if len(list) == 0 {
		return nil
	}
	params := make([]river.InsertManyParams, len(list))
	for i, j := range list {
		params[i] = river.InsertManyParams{Args: j.args, InsertOpts: &river.InsertOpts{Priority: j.priority}}
	}
	results, err := s.queue.InsertManyTx(ctx, tx, params)
	if err != nil {
		return err
	}
	for _, r := range results {
		if r.UniqueSkippedAsDuplicate && stopping(r.Job) {
			return fault.New(fault.Conflict, "", "The work is just being stopped. Try again in a moment.")
		}
	}
	return nil
}

// stopping says whether a job runs still, but was told to stop.
func stopping(j *rivertype.JobRow) bool {
	var meta struct {
		CancelAttemptedAt json.RawMessage `json:"cancel_attempted_at"`
	}
	return json.Unmarshal(j.Metadata, &meta) == nil && len(meta.CancelAttemptedAt) > 0
}

type foundJob struct {
	ID      int64
	Running bool
}

// cancelWork stops all that is done for recordings.
func (s *Store) cancelWork(ctx context.Context, tx pgx.Tx, recordings []int64) error {
	found, err := all[foundJob](ctx, tx, sqlWorkOnRecordings, args{
		"recordings": recordings, "clip": jobs.SmoothClip{}.Kind(),
		"whole": []string{jobs.ProbeRecording{}.Kind(), jobs.SplitRecording{}.Kind(), jobs.CutClips{}.Kind()},
	})
	if err != nil {
		return err
	}
	return s.stop(ctx, tx, found)
}

func (s *Store) cancelFilm(ctx context.Context, tx pgx.Tx, export int64) error {
	found, err := all[foundJob](ctx, tx, sqlWorkOnExport, args{"kind": jobs.ExportReel{}.Kind(), "id": export})
	if err != nil {
		return err
	}
	return s.stop(ctx, tx, found)
}

// maxDelete is how many jobs River deletes in one statement.
const maxDelete = 10_000

// stop removes what waits, and tells what runs to end. An hour's footage has
// hundreds of waiting jobs, but no more running ones than there are workers.
func (s *Store) stop(ctx context.Context, tx pgx.Tx, found []foundJob) error {
	var waiting []int64
	for _, j := range found {
		if !j.Running {
			waiting = append(waiting, j.ID)
			continue
		}
		if _, err := s.queue.JobCancelTx(ctx, tx, j.ID); err != nil {
			return err
		}
	}
	for len(waiting) > 0 {
		n := min(len(waiting), maxDelete)
		params := river.NewJobDeleteManyParams().IDs(waiting[:n]...).First(n)
		if _, err := s.queue.JobDeleteManyTx(ctx, tx, params); err != nil {
			return err
		}
		waiting = waiting[n:]
	}
	return nil
}
