package db

import (
	"context"

	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/media/jobs"
	"netreel/tagging"
)

const (
	sqlForgetProblems = `UPDATE clip SET problem = '' WHERE recording_id = @recording AND problem <> ''`

	// Found by this recording's split alone, and kept by nobody: it goes with the recording.
	sqlDropItsProposals = `
		DELETE FROM delivery d USING proposal p
		WHERE p.recording_id = @recording AND p.delivery_id = d.id AND NOT` + keptByPeople + `
		  AND NOT EXISTS (SELECT FROM proposal q WHERE q.delivery_id = d.id AND q.recording_id <> @recording)`

	sqlDeleteRecording = `DELETE FROM recording WHERE id = @recording`
)

// change is what Retry, Cancel and SplitAgain have in common: a recording is
// taken, something is done about its work, and it is returned as it is then.
func (s *Store) change(ctx context.Context, op string, v tagging.Viewer, id int64, fn func(tx pgx.Tx, r *lockedRecording) error) (changed tagging.Recording, err error) {
	err = s.inTx(ctx, op, func(tx pgx.Tx) error {
		r, err := staffLock(ctx, tx, v, id)
		if err != nil {
			return err
		}
		if err := fn(tx, &r); err != nil {
			return err
		}
		changed, err = recordingFor(ctx, tx, v, id)
		return err
	})
	return changed, err
}

// Retry starts the work on a recording again where it stopped: after a failure
// or a cancellation, or for single clips that could not be cut.
func (s *Store) Retry(ctx context.Context, v tagging.Viewer, id int64) (tagging.Recording, error) {
	return s.change(ctx, "db.Retry", v, id, func(tx pgx.Tx, r *lockedRecording) error {
		switch {
		case r.Probe == nil:
			if err := setState(ctx, tx, r, tagging.Landed, stepProbe, ""); err != nil {
				return err
			}
			return s.enqueue(ctx, tx, job{args: jobs.ProbeRecording{RecordingID: id}})
		case !r.IsSplit || r.State == tagging.Probed:
			return s.splitNow(ctx, tx, r)
		}
		if _, err := tx.Exec(ctx, sqlForgetProblems, args{"recording": id}); err != nil {
			return err
		}
		if err := setState(ctx, tx, r, tagging.Split, stepClips, ""); err != nil {
			return err
		}
		return s.plan(ctx, tx, r.SessionID, planning{every: true, again: onRecording(id)})
	})
}

func onRecording(id int64) func(plannedClip) bool {
	return func(c plannedClip) bool { return c.RecordingID == id }
}

func (s *Store) splitNow(ctx context.Context, tx pgx.Tx, r *lockedRecording) error {
	if err := setState(ctx, tx, r, tagging.Probed, stepSplit, ""); err != nil {
		return err
	}
	return s.enqueue(ctx, tx, job{args: jobs.SplitRecording{RecordingID: r.ID}})
}

// SplitAgain finds the deliveries anew; what a person has touched stays.
func (s *Store) SplitAgain(ctx context.Context, v tagging.Viewer, id int64) (tagging.Recording, error) {
	return s.change(ctx, "db.SplitAgain", v, id, func(tx pgx.Tx, r *lockedRecording) error {
		switch {
		case r.Probe == nil:
			return fault.New(fault.Conflict, "", "This recording has not been looked at yet, so it can't be split. Start its work again first.")
		case r.State == tagging.Probed: // being split already
			return nil
		}
		return s.splitNow(ctx, tx, r)
	})
}

// Cancel stops the work on a recording. What is there already stays.
func (s *Store) Cancel(ctx context.Context, v tagging.Viewer, id int64) (tagging.Recording, error) {
	return s.change(ctx, "db.Cancel", v, id, func(tx pgx.Tx, r *lockedRecording) error {
		switch r.State {
		case tagging.Cancelled:
			return nil
		case tagging.Ready, tagging.Failed:
			return fault.New(fault.Conflict, "", "Nothing is being done on this recording, so there is nothing to stop.")
		}
		if err := s.cancelWork(ctx, tx, []int64{id}); err != nil {
			return err
		}
		return setState(ctx, tx, r, tagging.Cancelled, "", "")
	})
}

// DeleteRecording removes a recording with its clips, and the balls that only
// its split found and nobody keeps.
func (s *Store) DeleteRecording(ctx context.Context, v tagging.Viewer, id int64) error {
	return s.inTx(ctx, "db.DeleteRecording", func(tx pgx.Tx) error {
		if err := coachOnly(v); err != nil {
			return err
		}
		r, err := staffLock(ctx, tx, v, id)
		if err != nil {
			return err
		}
		if err := s.cancelWork(ctx, tx, []int64{id}); err != nil {
			return err
		}
		for _, sql := range []string{sqlDropItsProposals, sqlDeleteRecording} {
			if _, err := tx.Exec(ctx, sql, args{"recording": id}); err != nil {
				return err
			}
		}
		if err := settle(ctx, tx, r.SessionID); err != nil {
			return err
		}
		return tell(ctx, tx, r.SquadID, r.event(), tagging.Event{Topic: "lane", ID: r.SessionID, Session: r.SessionID})
	})
}
