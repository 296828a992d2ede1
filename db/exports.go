package db

import (
	"context"
	"errors"
	"math"

	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/media/jobs"
	"netreel/tagging"
)

const exportColumns = ` e.id, e.reel_id, e.burn, e.state, e.progress, e.problem, e.created_at AS created`

const (
	sqlExports = `SELECT` + exportColumns + ` FROM export e WHERE e.reel_id = @reel ORDER BY e.id DESC`

	sqlExport = `SELECT` + exportColumns + `, e.captions, r.squad_id
		FROM export e JOIN reel r ON r.id = e.reel_id
		WHERE e.id = @id`

	sqlLockExport = sqlExport + ` FOR NO KEY UPDATE OF e`

	sqlAddExport = `INSERT INTO export (reel_id, burn, made_by) VALUES (@reel, @burn, @maker) RETURNING id`

	sqlSetExport = `
		UPDATE export SET state = @state, progress = @progress, problem = @problem, captions = @captions WHERE id = @id`
)

const noExport = "There is no such film. Perhaps it was deleted."

type exportRow struct {
	tagging.Export
	Captions string
	SquadID  int64
}

func exportByID(ctx context.Context, q querier, sql string, id int64) (exportRow, error) {
	e, err := one[exportRow](ctx, q, sql, args{"id": id})
	if errors.Is(err, pgx.ErrNoRows) {
		err = absent(noExport)
	}
	return e, err
}

// Exports lists the films made of a reel, newest first, to staff.
func (s *Store) Exports(ctx context.Context, v tagging.Viewer, reelID int64) ([]tagging.Export, error) {
	const op = "db.Exports"
	if err := staffReel(ctx, s.pool, v, reelID); err != nil {
		return nil, trouble(op, err)
	}
	list, err := all[tagging.Export](ctx, s.pool, sqlExports, args{"reel": reelID})
	return list, trouble(op, err)
}

// AddExport queues the making of a film.
func (s *Store) AddExport(ctx context.Context, v tagging.Viewer, reelID int64, burn bool) (added tagging.Export, err error) {
	err = s.inTx(ctx, "db.AddExport", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		r, err := reel(ctx, tx, v, reelID)
		if err != nil {
			return err
		}
		if r.Count == 0 {
			return fault.New(fault.Conflict, "", "This reel has no balls, so there is nothing to make a film of.")
		}
		id, err := value[int64](ctx, tx, sqlAddExport, args{"reel": reelID, "burn": burn, "maker": v.AccountID})
		if err != nil {
			return err
		}
		if err := s.enqueue(ctx, tx, job{args: jobs.ExportReel{ExportID: id}}); err != nil {
			return err
		}
		e, err := exportByID(ctx, tx, sqlExport, id)
		if err != nil {
			return err
		}
		added = e.Export
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "export", ID: id})
	})
	return added, err
}

// Export returns a film with its WebVTT captions ("" until it is done), to
// staff.
func (s *Store) Export(ctx context.Context, v tagging.Viewer, id int64) (tagging.Export, string, error) {
	const op = "db.Export"
	if err := staffRead(v, noExport); err != nil {
		return tagging.Export{}, "", trouble(op, err)
	}
	e, err := exportByID(ctx, s.pool, sqlExport, id)
	if err == nil && e.SquadID != v.SquadID {
		err = absent(noExport)
	}
	if err != nil {
		return tagging.Export{}, "", trouble(op, err)
	}
	return e.Export, e.Captions, nil
}

// CancelExport stops the making of a film; one that came to an end already is
// fault.Conflict.
func (s *Store) CancelExport(ctx context.Context, v tagging.Viewer, id int64) error {
	return s.inTx(ctx, "db.CancelExport", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		e, err := exportByID(ctx, tx, sqlLockExport, id)
		if err != nil {
			return err
		}
		switch {
		case e.SquadID != v.SquadID:
			return absent(noExport)
		case e.State == tagging.ExportCancelled:
			return nil
		case ended(e.State):
			return fault.New(fault.Conflict, "", "The film is not being made any more, so there is nothing to stop.")
		}
		if err := s.cancelFilm(ctx, tx, id); err != nil {
			return err
		}
		return setExport(ctx, tx, e, tagging.ExportCancelled, e.Progress, "", "")
	})
}

func ended(state tagging.ExportState) bool {
	return state == tagging.ExportDone || state == tagging.ExportFailed || state == tagging.ExportCancelled
}

func setExport(ctx context.Context, tx pgx.Tx, e exportRow, state tagging.ExportState, progress float64, problem, captions string) error {
	if _, err := tx.Exec(ctx, sqlSetExport, args{
		"id": e.ID, "state": state, "progress": math.Min(1, math.Max(0, progress)), "problem": problem, "captions": captions,
	}); err != nil {
		return err
	}
	return tell(ctx, tx, e.SquadID, tagging.Event{Topic: "export", ID: e.ID})
}

// ExportForJob returns what a film is made of, as the squad sees it now, or
// fault.NotFound. Items whose clips have no file yet are in it.
func (s *Store) ExportForJob(ctx context.Context, id int64) (tagging.Export, tagging.Playlist, error) {
	const op = "db.ExportForJob"
	e, err := exportByID(ctx, s.pool, sqlExport, id)
	if err != nil {
		return tagging.Export{}, tagging.Playlist{}, trouble(op, err)
	}
	r, err := reel(ctx, s.pool, tagging.Viewer{SquadID: e.SquadID, Role: tagging.Analyst}, e.ReelID)
	if err != nil {
		return tagging.Export{}, tagging.Playlist{}, trouble(op, err)
	}
	p, err := playlist(ctx, s.pool, e.SquadID, r)
	return e.Export, p, trouble(op, err)
}

// SetExport records state, progress, problem and the WebVTT captions of a
// film. A film that was cancelled or is done stays so.
func (s *Store) SetExport(ctx context.Context, id int64, state tagging.ExportState, progress float64, problem, captions string) error {
	return s.inTx(ctx, "db.SetExport", func(tx pgx.Tx) error {
		e, err := exportByID(ctx, tx, sqlLockExport, id)
		if err != nil || e.State == tagging.ExportCancelled || e.State == tagging.ExportDone {
			return err
		}
		return setExport(ctx, tx, e, state, progress, problem, captions)
	})
}
