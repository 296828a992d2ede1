package db

import (
	"context"
	"errors"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/measure"
	"netreel/tagging/reading"
)

const noReading = "There is no such reading any more. Perhaps the ball was measured anew: load the page again."

// BallReadings lists what was read off a ball's frames, a recording each, to
// staff.
func (s *Store) BallReadings(ctx context.Context, v tagging.Viewer, ball int64) ([]reading.Reading, error) {
	const op = "db.BallReadings"
	if err := staffRead(v, noBall); err != nil {
		return nil, trouble(op, err)
	}
	if err := ballVisible(ctx, s.pool, v, ball, noBall); err != nil {
		return nil, trouble(op, err)
	}
	list, err := readings(ctx, s.pool, sqlBallReadings, args{"ball": ball})
	return list, trouble(op, err)
}

// SessionReadings lists a session's readings, to staff: those first that a
// model proposed and that look wrong, with the reasons.
func (s *Store) SessionReadings(ctx context.Context, v tagging.Viewer, sessionID int64) ([]reading.Reading, error) {
	const op = "db.SessionReadings"
	if err := staffRead(v, noSession); err != nil {
		return nil, trouble(op, err)
	}
	of, err := session(ctx, s.pool, v, sessionID)
	if err != nil {
		return nil, trouble(op, err)
	}
	batters := map[int64]measure.Batter{}
	for _, p := range of.Players {
		batters[p.ID] = reading.BatterOf(p)
	}
	list, err := readings(ctx, s.pool, sqlSessionReadings, args{"session": sessionID})
	if err != nil {
		return nil, trouble(op, err)
	}
	films := map[int64]*measure.Calibration{}
	for _, r := range list {
		if _, known := films[r.RecordingID]; known {
			continue
		}
		c, err := calibration(ctx, s.pool, r.RecordingID)
		if err != nil {
			return nil, trouble(op, err)
		}
		films[r.RecordingID] = nil
		if c != nil {
			films[r.RecordingID] = c.Solved
		}
	}
	return reading.Doubtful(list, films, batters), nil
}

// Judge accepts or rejects a reading as it stands: the ledger gets a row of
// its own for that.
func (s *Store) Judge(ctx context.Context, v tagging.Viewer, id int64, status reading.Status) (kept reading.Reading, err error) {
	err = s.inTx(ctx, "db.Judge", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		list, err := readings(ctx, tx, sqlReadingOfPoints, args{"id": id, "squad": v.SquadID})
		if err != nil {
			return err
		}
		if len(list) == 0 {
			return absent(noReading)
		}
		if err := shareSession(ctx, tx, v, list[0].BallID); err != nil {
			return err
		}
		r := list[0]
		r.UUID, r.Status = uuid.New(), status
		if err := r.Input.Validate(); err != nil {
			return err
		}
		kept, err = again(ctx, tx, v, r.Input)
		return err
	})
	return kept, err
}

// again computes a reading anew and keeps it in place of the one that holds.
func again(ctx context.Context, tx pgx.Tx, v tagging.Viewer, in reading.Input) (reading.Reading, error) {
	scene, session, err := readingScene(ctx, tx, v, in.BallID, in.RecordingID)
	if err != nil {
		return reading.Reading{}, err
	}
	if _, err := value[int64](ctx, tx, sqlLockBall, args{"ball": in.BallID}); err != nil {
		return reading.Reading{}, err
	}
	out, err := scene.Compute(in.Sights)
	if err != nil {
		return reading.Reading{}, err
	}
	id, err := addReading(ctx, tx, v, scene, in, out.Values)
	if err != nil {
		return reading.Reading{}, err
	}
	list, err := readings(ctx, tx, sqlReading, args{"id": id, "squad": v.SquadID})
	if err != nil {
		return reading.Reading{}, err
	}
	return list[0], tell(ctx, tx, v.SquadID, tagging.Event{Topic: "measure", ID: in.BallID, Session: session})
}

// recompute brings what was measured on a recording up to its new calibration:
// each reading is superseded by one of the same points and status.
func recompute(ctx context.Context, tx pgx.Tx, v tagging.Viewer, recording int64) error {
	list, err := readings(ctx, tx, sqlRecordingReadings, args{"recording": recording})
	if err != nil {
		return err
	}
	for _, r := range list {
		r.UUID = uuid.New()
		switch _, err := again(ctx, tx, v, r.Input); {
		case fault.KindOf(err) == fault.NotFound && err != nil: // of a ball that was discarded: nobody sees it
		case errors.Is(err, context.Canceled):
			return err
		case err != nil:
			return fmt.Errorf("reading %d: %w", r.ID, err)
		}
	}
	return nil
}
