package db

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/media/jobs"
	"netreel/tagging"
)

const uploadColumns = `
	u.id, u.tus_id, u.session_id, u.account_id, u.file_name, u.size, u.camera, u.state,
	coalesce(u.recording_id, 0) AS recording_id, u.problem, u.created_at AS created, u.updated_at AS updated`

const (
	sqlOpenUpload = `
		INSERT INTO upload (tus_id, session_id, account_id, file_name, size, camera)
		VALUES (@tus, @session, @account, @name, @size, @camera)
		RETURNING id`

	sqlUpload = `SELECT` + uploadColumns + ` FROM upload u WHERE u.id = @id`

	sqlUploadByTus = `SELECT` + uploadColumns + ` FROM upload u WHERE u.tus_id = @tus AND u.account_id = @account`

	sqlUploads = `SELECT` + uploadColumns + ` FROM upload u WHERE u.session_id = @session ORDER BY u.id`

	sqlOpenUploads = `SELECT` + uploadColumns + `
		FROM upload u WHERE u.state IN ('open', 'landed') AND u.updated_at < @before ORDER BY u.id`

	sqlLockUpload = `
		SELECT` + uploadColumns + `, s.squad_id
		FROM upload u JOIN net_session s ON s.id = u.session_id
		WHERE u.id = @id FOR NO KEY UPDATE OF u`

	sqlLockUploadByTus = `
		SELECT` + uploadColumns + `, s.squad_id
		FROM upload u JOIN net_session s ON s.id = u.session_id
		WHERE u.tus_id = @tus FOR NO KEY UPDATE OF u`

	sqlSetUpload = `
		UPDATE upload SET state = @state, recording_id = nullif(@recording::bigint, 0), problem = @problem, updated_at = now()
		WHERE id = @id`

	sqlDropUpload = `DELETE FROM upload WHERE id = @id`

	// Two uploads of the same file may land at once: one adds the recording, the other finds it.
	sqlAddRecording = `
		INSERT INTO recording (session_id, title, camera, sha256, size, step)
		VALUES (@session, @title, @camera, @sha256, @size, 'probe')
		ON CONFLICT (session_id, sha256) DO NOTHING
		RETURNING id`

	sqlRecordingByContent = `SELECT id, title FROM recording WHERE session_id = @session AND sha256 = @sha256`
)

const noUpload = "There is no such upload."

// lockedUpload is an upload taken for a change, with its squad.
type lockedUpload struct {
	tagging.Upload
	SquadID int64
}

func (u lockedUpload) event() tagging.Event {
	return tagging.Event{Topic: "upload", ID: u.ID, Session: u.SessionID}
}

func lockUpload(ctx context.Context, tx pgx.Tx, sql string, a args) (lockedUpload, error) {
	u, err := one[lockedUpload](ctx, tx, sql, a)
	if errors.Is(err, pgx.ErrNoRows) {
		err = absent(noUpload)
	}
	return u, err
}

// OpenUpload writes the row of an upload that begins.
func (s *Store) OpenUpload(ctx context.Context, v tagging.Viewer, u tagging.Upload) (opened tagging.Upload, err error) {
	err = s.inTx(ctx, "db.OpenUpload", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		var f form
		u.FileName = f.words("filename", u.FileName, 1, 255)
		if !u.Camera.Valid() {
			f.bad("camera", "must be side-on, behind-the-arm or other")
		}
		if u.Size < 0 {
			f.bad("size", "can't be negative")
		}
		if err := f.err(); err != nil {
			return err
		}
		if _, err := session(ctx, tx, v, u.SessionID); err != nil {
			return err
		}
		id, err := value[int64](ctx, tx, sqlOpenUpload, args{
			"tus": u.TusID, "session": u.SessionID, "account": v.AccountID, "name": u.FileName, "size": u.Size, "camera": u.Camera,
		})
		if err != nil {
			return err
		}
		if opened, err = one[tagging.Upload](ctx, tx, sqlUpload, args{"id": id}); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "upload", ID: id, Session: u.SessionID})
	})
	return opened, err
}

// MarkLanded says that all bytes of a tus upload are there, and enqueues its
// landing. Saying it again does no harm.
func (s *Store) MarkLanded(ctx context.Context, tusID string) error {
	return s.inTx(ctx, "db.MarkLanded", func(tx pgx.Tx) error {
		u, err := lockUpload(ctx, tx, sqlLockUploadByTus, args{"tus": tusID})
		if err != nil {
			return err
		}
		if u.State != tagging.UploadOpen && u.State != tagging.UploadLanded {
			return nil
		}
		if err := setUpload(ctx, tx, &u, tagging.UploadLanded, 0, ""); err != nil {
			return err
		}
		return s.enqueue(ctx, tx, job{args: jobs.LandUpload{UploadID: u.ID}})
	})
}

func setUpload(ctx context.Context, tx pgx.Tx, u *lockedUpload, state tagging.UploadState, recording int64, problem string) error {
	u.State, u.RecordingID, u.Problem = state, recording, problem
	a := args{"id": u.ID, "state": state, "recording": recording, "problem": problem}
	if _, err := tx.Exec(ctx, sqlSetUpload, a); err != nil {
		return err
	}
	return tell(ctx, tx, u.SquadID, u.event())
}

// LandUpload makes the recording of a landed upload, whose content is known
// now, and enqueues its probe. A file that the session has already makes it a
// duplicate of the recording that is there.
func (s *Store) LandUpload(ctx context.Context, uploadID int64, sha256 [32]byte, size int64) (landed tagging.Upload, err error) {
	err = s.inTx(ctx, "db.LandUpload", func(tx pgx.Tx) error {
		u, err := lockUpload(ctx, tx, sqlLockUpload, args{"id": uploadID})
		if err != nil {
			return err
		}
		if u.State == tagging.UploadAdopted || u.State == tagging.UploadDuplicate {
			landed = u.Upload // a worker that was killed after this very transaction
			return nil
		}
		title := strings.TrimSuffix(u.FileName, filepath.Ext(u.FileName))
		if title == "" {
			title = u.FileName
		}
		added, err := column[int64](ctx, tx, sqlAddRecording, args{
			"session": u.SessionID, "title": title, "camera": u.Camera, "sha256": sha256[:], "size": size,
		})
		if err != nil {
			return err
		}
		if len(added) == 0 {
			err = duplicate(ctx, tx, &u, sha256)
		} else {
			err = s.adopt(ctx, tx, &u, added[0])
		}
		landed = u.Upload
		return err
	})
	return landed, err
}

func (s *Store) adopt(ctx context.Context, tx pgx.Tx, u *lockedUpload, recording int64) error {
	if err := setUpload(ctx, tx, u, tagging.UploadAdopted, recording, ""); err != nil {
		return err
	}
	if err := s.enqueue(ctx, tx, job{args: jobs.ProbeRecording{RecordingID: recording}}); err != nil {
		return err
	}
	return tell(ctx, tx, u.SquadID, tagging.Event{Topic: "recording", ID: recording, Session: u.SessionID})
}

func duplicate(ctx context.Context, tx pgx.Tx, u *lockedUpload, sha256 [32]byte) error {
	there, err := one[struct {
		ID    int64
		Title string
	}](ctx, tx, sqlRecordingByContent, args{"session": u.SessionID, "sha256": sha256[:]})
	if err != nil {
		return err
	}
	return setUpload(ctx, tx, u, tagging.UploadDuplicate, there.ID,
		fmt.Sprintf("This file is here already: it is the recording %q.", there.Title))
}

// FailUpload records why an upload came to nothing, for the person. One that
// has become a recording is not touched.
func (s *Store) FailUpload(ctx context.Context, id int64, problem string) error {
	return s.inTx(ctx, "db.FailUpload", func(tx pgx.Tx) error {
		u, err := lockUpload(ctx, tx, sqlLockUpload, args{"id": id})
		if err != nil || u.State == tagging.UploadAdopted || u.State == tagging.UploadDuplicate {
			return err
		}
		return setUpload(ctx, tx, &u, tagging.UploadFailed, 0, problem)
	})
}

// UploadForJob returns an upload, or fault.NotFound.
func (s *Store) UploadForJob(ctx context.Context, id int64) (tagging.Upload, error) {
	u, err := one[tagging.Upload](ctx, s.pool, sqlUpload, args{"id": id})
	return u, trouble("db.UploadForJob", err)
}

// OpenUploads lists uploads in state open or landed that were last touched
// before a time, oldest first.
func (s *Store) OpenUploads(ctx context.Context, before time.Time) ([]tagging.Upload, error) {
	list, err := all[tagging.Upload](ctx, s.pool, sqlOpenUploads, args{"before": before})
	return list, trouble("db.OpenUploads", err)
}

// UploadByTus returns the upload of a tus id if it is the viewer's own, else
// fault.NotFound.
func (s *Store) UploadByTus(ctx context.Context, v tagging.Viewer, tusID string) (tagging.Upload, error) {
	u, err := one[tagging.Upload](ctx, s.pool, sqlUploadByTus, args{"tus": tusID, "account": v.AccountID})
	if errors.Is(err, pgx.ErrNoRows) {
		err = absent(noUpload)
	}
	return u, trouble("db.UploadByTus", err)
}

// Uploads lists a session's uploads, oldest first.
func (s *Store) Uploads(ctx context.Context, v tagging.Viewer, sessionID int64) ([]tagging.Upload, error) {
	const op = "db.Uploads"
	if err := staffRead(v, noSession); err != nil {
		return nil, fault.At(op, err)
	}
	if _, err := session(ctx, s.pool, v, sessionID); err != nil {
		return nil, trouble(op, err)
	}
	list, err := all[tagging.Upload](ctx, s.pool, sqlUploads, args{"session": sessionID})
	return list, trouble(op, err)
}

// DropUpload forgets an upload (its row) and returns what it was; bytes on the
// way are the caller's to remove. A recording that it became stays.
func (s *Store) DropUpload(ctx context.Context, v tagging.Viewer, id int64) (dropped tagging.Upload, err error) {
	err = s.inTx(ctx, "db.DropUpload", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		u, err := lockUpload(ctx, tx, sqlLockUpload, args{"id": id})
		if err != nil {
			return err
		}
		if u.SquadID != v.SquadID {
			return absent(noUpload)
		}
		dropped = u.Upload
		if _, err := tx.Exec(ctx, sqlDropUpload, args{"id": id}); err != nil {
			return err
		}
		return tell(ctx, tx, u.SquadID, u.event())
	})
	return dropped, err
}
