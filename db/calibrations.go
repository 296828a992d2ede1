package db

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"netreel/media"
	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/measure"
	"netreel/tagging/reading"
)

const (
	sqlCalibration = `
		SELECT c.id, c.recording_id, c.at_us, c.box, c.solved, a.name AS by, c.made_at AS made
		FROM calibration c JOIN account a ON a.id = c.account_id
		WHERE c.recording_id = @recording AND c.holds`

	sqlAddCalibration = `
		WITH earlier AS (
			UPDATE calibration SET holds = false WHERE recording_id = @recording AND holds RETURNING id
		)
		INSERT INTO calibration (recording_id, account_id, at_us, box, solved, supersedes)
		SELECT @recording, @account, @at, @box, @solved, (SELECT id FROM earlier)`
)

type calibrationRow struct {
	ID, RecordingID int64
	AtUS            media.Micros
	Box             *reading.Box
	Solved          *measure.Calibration
	By              string
	Made            time.Time
}

// calibration is the one that holds for a recording, nil if there is none.
func calibration(ctx context.Context, q querier, recording int64) (*reading.Calibration, error) {
	rows, err := all[calibrationRow](ctx, q, sqlCalibration, args{"recording": recording})
	if err != nil || len(rows) == 0 {
		return nil, err
	}
	r := rows[0]
	return &reading.Calibration{
		ID: r.ID, RecordingID: r.RecordingID, At: r.AtUS, Box: r.Box, Solved: r.Solved, By: r.By, Made: r.Made,
	}, nil
}

// Calibration returns how a recording's camera sees the lane, to staff; nil
// when nobody has said so yet.
func (s *Store) Calibration(ctx context.Context, v tagging.Viewer, recording int64) (*reading.Calibration, error) {
	const op = "db.Calibration"
	if _, err := recordingFor(ctx, s.pool, v, recording); err != nil {
		return nil, trouble(op, err)
	}
	c, err := calibration(ctx, s.pool, recording)
	return c, trouble(op, err)
}

// TryCalibration solves what was clicked and keeps nothing.
func (s *Store) TryCalibration(ctx context.Context, v tagging.Viewer, recording int64, in reading.CalibrationInput) (reading.Calibration, error) {
	const op = "db.TryCalibration"
	r, err := recordingFor(ctx, s.pool, v, recording)
	if err != nil {
		return reading.Calibration{}, trouble(op, err)
	}
	c, err := solve(r, in)
	return c, trouble(op, err)
}

func solve(r tagging.Recording, in reading.CalibrationInput) (reading.Calibration, error) {
	if r.Probe == nil {
		return reading.Calibration{}, fault.New(fault.Invalid, "", "This recording has not been looked at yet. Try again when it is split.")
	}
	c, err := in.Solve(r.Probe.Width, r.Probe.Height)
	c.RecordingID = r.ID
	return c, err
}

// SaveCalibration solves what was clicked and keeps it; the one before is
// superseded.
func (s *Store) SaveCalibration(ctx context.Context, v tagging.Viewer, recording int64, in reading.CalibrationInput) (kept reading.Calibration, err error) {
	err = s.inTx(ctx, "db.SaveCalibration", func(tx pgx.Tx) error {
		r, err := staffLock(ctx, tx, v, recording)
		if err != nil {
			return err
		}
		c, err := solve(r.Recording, in)
		if err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, sqlAddCalibration, args{
			"recording": r.ID, "account": v.AccountID, "at": c.At, "box": c.Box, "solved": c.Solved,
		}); err != nil {
			return err
		}
		if err := recompute(ctx, tx, v, r.ID); err != nil {
			return err
		}
		there, err := calibration(ctx, tx, r.ID)
		if err != nil {
			return err
		}
		kept = *there
		return tell(ctx, tx, r.SquadID, tagging.Event{Topic: "measure", ID: r.ID, Session: r.SessionID})
	})
	return kept, err
}
