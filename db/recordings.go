package db

import (
	"context"
	"errors"
	"math"
	"time"

	"github.com/jackc/pgx/v5"

	"netreel/media"
	"netreel/media/fault"
	"netreel/media/jobs"
	"netreel/tagging"
)

// The steps of the work on a recording, as pages show them.
const (
	stepProbe = "probe"
	stepSplit = "split"
	stepClips = "clips"
)

// Limits of a recording's clock: two days, and far worse than any camera.
const (
	maxOffset  = 48 * 3600 * media.Second
	maxRatePPM = 10_000
	maxMetres  = 200 // from a camera to the batter
)

const recordingColumns = `
	r.id, r.session_id, r.title, r.camera, r.sha256, r.size, r.state, r.problem, r.probe,
	r.offset_us, r.rate_ppm, r.clock_by, r.clock_sure, r.clock_note, r.metres, r.cut, r.notes, r.step, r.progress, r.created_at AS created`

const (
	sqlRecording = `SELECT` + recordingColumns + ` FROM recording r WHERE r.id = @id`

	sqlRecordingOfSquad = `SELECT` + recordingColumns + `
		FROM recording r JOIN net_session s ON s.id = r.session_id
		WHERE r.id = @id AND s.squad_id = @squad`

	sqlRecordings = `SELECT` + recordingColumns + `
		FROM recording r WHERE r.session_id = @session ORDER BY r.offset_us, r.id`

	// First the session, as everybody who changes the lane does.
	sqlLockSessionOf = `
		SELECT s.id, s.squad_id FROM net_session s
		WHERE s.id = (SELECT session_id FROM recording WHERE id = @id) FOR NO KEY UPDATE`

	sqlLockRecording = `
		SELECT` + recordingColumns + `, s.squad_id, r.found IS NOT NULL AS is_split
		FROM recording r JOIN net_session s ON s.id = r.session_id
		WHERE r.id = @id FOR NO KEY UPDATE OF r`

	sqlTraces = `
		SELECT r.sound_step_us, r.sound_trace, r.motion_step_us, r.motion_trace
		FROM recording r JOIN net_session s ON s.id = r.session_id
		WHERE r.id = @id AND s.squad_id = @squad`

	sqlSetRecordingState = `
		UPDATE recording SET state = @state, step = @step, progress = 0, problem = @problem WHERE id = @id`

	sqlSaveProbe = `UPDATE recording SET probe = @probe, offset_us = @offset WHERE id = @id`

	sqlSetProgress = `
		UPDATE recording r SET progress = @share FROM net_session s
		WHERE r.id = @id AND r.step = @step AND s.id = r.session_id
		RETURNING s.squad_id, s.id AS session_id`

	sqlChangeRecording = `
		UPDATE recording SET title = @title, camera = @camera, metres = @metres WHERE id = @id`
)

const noRecording = "There is no such recording. Perhaps it was deleted."

type recordingRow struct {
	ID, SessionID int64
	Title         string
	Camera        media.Camera
	SHA256        []byte `db:"sha256"`
	Size          int64
	State         tagging.RecordingState
	Problem       string
	Probe         *media.Probe
	OffsetUS      media.Micros
	RatePPM       float64
	ClockBy       tagging.ClockBy
	ClockSure     *float64
	ClockNote     string
	Metres        *float64
	Cut           float64
	Notes         []string
	Step          string
	Progress      float64
	Created       time.Time
}

func (r recordingRow) recording() tagging.Recording {
	return tagging.Recording{
		ID: r.ID, SessionID: r.SessionID, Title: r.Title, Camera: r.Camera, SHA256: [32]byte(r.SHA256), Size: r.Size,
		State: r.State, Problem: r.Problem, Probe: r.Probe, Clock: media.Clock{Offset: r.OffsetUS, RatePPM: r.RatePPM},
		ClockBy: r.ClockBy, ClockSure: r.ClockSure, ClockNote: r.ClockNote, Metres: r.Metres, Cut: r.Cut, Notes: r.Notes,
		Step: r.Step, Progress: r.Progress, Created: r.Created,
	}
}

// lockedRecording is a recording taken for a change, with its squad.
type lockedRecording struct {
	tagging.Recording
	SquadID int64
	IsSplit bool
}

func (r lockedRecording) event() tagging.Event {
	return tagging.Event{Topic: "recording", ID: r.ID, Session: r.SessionID}
}

// lockRecording takes a recording and its session for a change.
func lockRecording(ctx context.Context, tx pgx.Tx, id int64) (lockedRecording, error) {
	none := absent(noRecording)
	owner, err := all[struct{ ID, SquadID int64 }](ctx, tx, sqlLockSessionOf, args{"id": id})
	if err != nil {
		return lockedRecording{}, err
	}
	if len(owner) == 0 {
		return lockedRecording{}, none
	}
	row, err := one[struct {
		recordingRow
		SquadID int64
		IsSplit bool
	}](ctx, tx, sqlLockRecording, args{"id": id})
	if errors.Is(err, pgx.ErrNoRows) {
		return lockedRecording{}, none
	}
	if err != nil {
		return lockedRecording{}, err
	}
	return lockedRecording{Recording: row.recording(), SquadID: row.SquadID, IsSplit: row.IsSplit}, nil
}

// setState moves a recording on and tells the pages.
func setState(ctx context.Context, tx pgx.Tx, r *lockedRecording, state tagging.RecordingState, step, problem string) error {
	r.State, r.Step, r.Problem, r.Progress = state, step, problem, 0
	a := args{"id": r.ID, "state": state, "step": step, "problem": problem}
	if _, err := tx.Exec(ctx, sqlSetRecordingState, a); err != nil {
		return err
	}
	return tell(ctx, tx, r.SquadID, r.event())
}

// Recording returns a recording to staff of its squad.
func (s *Store) Recording(ctx context.Context, v tagging.Viewer, id int64) (tagging.Recording, error) {
	r, err := recordingFor(ctx, s.pool, v, id)
	return r, trouble("db.Recording", err)
}

func recordingFor(ctx context.Context, q querier, v tagging.Viewer, id int64) (tagging.Recording, error) {
	if err := staffRead(v, noRecording); err != nil {
		return tagging.Recording{}, err
	}
	row, err := one[recordingRow](ctx, q, sqlRecordingOfSquad, args{"id": id, "squad": v.SquadID})
	if errors.Is(err, pgx.ErrNoRows) {
		return tagging.Recording{}, absent(noRecording)
	}
	if err != nil {
		return tagging.Recording{}, err
	}
	return row.recording(), nil
}

// RecordingForJob returns a recording, or fault.NotFound.
func (s *Store) RecordingForJob(ctx context.Context, id int64) (tagging.Recording, error) {
	const op = "db.RecordingForJob"
	row, err := one[recordingRow](ctx, s.pool, sqlRecording, args{"id": id})
	if err != nil {
		return tagging.Recording{}, trouble(op, err)
	}
	return row.recording(), nil
}

// Traces returns the sound's envelope and the motion; nil before the split.
func (s *Store) Traces(ctx context.Context, v tagging.Viewer, id int64) (sound, motion *media.Trace, err error) {
	const op = "db.Traces"
	if err := staffRead(v, noRecording); err != nil {
		return nil, nil, fault.At(op, err)
	}
	row, err := one[struct {
		SoundStepUS, MotionStepUS *media.Micros
		SoundTrace, MotionTrace   []byte
	}](ctx, s.pool, sqlTraces, args{"id": id, "squad": v.SquadID})
	if errors.Is(err, pgx.ErrNoRows) {
		err = absent(noRecording)
	}
	if err != nil {
		return nil, nil, trouble(op, err)
	}
	return trace(row.SoundStepUS, row.SoundTrace), trace(row.MotionStepUS, row.MotionTrace), nil
}

func trace(step *media.Micros, values []byte) *media.Trace {
	if step == nil {
		return nil
	}
	return &media.Trace{Step: *step, Values: values}
}

// SaveProbe keeps what ffprobe told, places the recording on the session
// clock, and enqueues the split. A cancelled recording is left alone.
func (s *Store) SaveProbe(ctx context.Context, id int64, p media.Probe) error {
	return s.inTx(ctx, "db.SaveProbe", func(tx pgx.Tx) error {
		r, err := lockRecording(ctx, tx, id)
		if err != nil || r.State == tagging.Cancelled {
			return err
		}
		if r.Probe == nil { // else a person may have set its clock since
			if r.Clock.Offset, err = firstOffset(ctx, tx, r, p); err != nil {
				return err
			}
		}
		if _, err := tx.Exec(ctx, sqlSaveProbe, args{"id": id, "probe": p, "offset": r.Clock.Offset}); err != nil {
			return err
		}
		if r.IsSplit { // probed anew by a job that ran twice
			return tell(ctx, tx, r.SquadID, r.event())
		}
		if err := setState(ctx, tx, &r, tagging.Probed, stepSplit, ""); err != nil {
			return err
		}
		if err := s.enqueue(ctx, tx, job{args: jobs.SplitRecording{RecordingID: id}}); err != nil {
			return err
		}
		return s.wantAlignment(ctx, tx, r.SessionID)
	})
}

// SetProgress tells pages how far the step that is being done is.
func (s *Store) SetProgress(ctx context.Context, recordingID int64, step string, share float64) error {
	return s.inTx(ctx, "db.SetProgress", func(tx pgx.Tx) error {
		share = math.Min(1, math.Max(0, share))
		told, err := all[struct{ SquadID, SessionID int64 }](ctx, tx, sqlSetProgress, args{"id": recordingID, "step": step, "share": share})
		if err != nil || len(told) == 0 { // gone, stopped, or a step further already
			return err
		}
		return tell(ctx, tx, told[0].SquadID, tagging.Event{Topic: "recording", ID: recordingID, Session: told[0].SessionID})
	})
}

// FailRecording records why a recording came to nothing, for the person. One
// that was cancelled or is ready stays so.
func (s *Store) FailRecording(ctx context.Context, id int64, problem string) error {
	return s.inTx(ctx, "db.FailRecording", func(tx pgx.Tx) error {
		r, err := lockRecording(ctx, tx, id)
		if err != nil || r.State == tagging.Cancelled || r.State == tagging.Ready {
			return err
		}
		return setState(ctx, tx, &r, tagging.Failed, "", problem)
	})
}

// staffLock takes a recording of the viewer's squad for a change by a person.
func staffLock(ctx context.Context, tx pgx.Tx, v tagging.Viewer, id int64) (lockedRecording, error) {
	if err := staffOnly(v); err != nil {
		return lockedRecording{}, err
	}
	r, err := lockRecording(ctx, tx, id)
	if err == nil && r.SquadID != v.SquadID {
		err = absent(noRecording)
	}
	return r, err
}

// ChangeRecording changes title, camera and clock. A new clock moves the balls
// that this recording's split found and nobody has touched; the clips of the
// others are cut anew from where they lie on it now. A person's clock is not
// changed by sound again (AlignAgain).
func (s *Store) ChangeRecording(ctx context.Context, v tagging.Viewer, in tagging.Recording) (changed tagging.Recording, err error) {
	err = s.inTx(ctx, "db.ChangeRecording", func(tx pgx.Tx) error {
		r, err := staffLock(ctx, tx, v, in.ID)
		if err != nil {
			return err
		}
		if in.Title, err = checkRecording(in); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, sqlChangeRecording, args{
			"id": r.ID, "title": in.Title, "camera": in.Camera, "metres": in.Metres,
		}); err != nil {
			return err
		}
		switch {
		case r.Clock != in.Clock:
			moved := clockChange{id: r.ID, clock: in.Clock, by: tagging.ByPerson}
			err = s.setClocks(ctx, tx, r.SquadID, r.SessionID, []clockChange{moved})
		case !same(r.Metres, in.Metres):
			err = s.layBySound(ctx, tx, r.SquadID, r.SessionID, false)
		}
		if err != nil {
			return err
		}
		if changed, err = recordingFor(ctx, tx, v, r.ID); err != nil {
			return err
		}
		return tell(ctx, tx, r.SquadID, r.event())
	})
	return changed, err
}

func checkRecording(in tagging.Recording) (title string, err error) {
	var f form
	title = f.words("title", in.Title, 1, maxTitleLen)
	if !in.Camera.Valid() {
		f.bad("camera", "must be side-on, behind-the-arm or other")
	}
	if in.Clock.Offset < -maxOffset || in.Clock.Offset > maxOffset {
		f.bad("offset_us", "must be within two days")
	}
	if !(math.Abs(in.Clock.RatePPM) <= maxRatePPM) { // NaN too
		f.bad("rate_ppm", "must be within 10000")
	}
	if m := in.Metres; m != nil && !(*m >= 0 && *m <= maxMetres) {
		f.bad("metres", "must be 0 to 200")
	}
	return title, f.err()
}
