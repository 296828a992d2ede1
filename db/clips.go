package db

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"netreel/media"
	"netreel/media/jobs"
	"netreel/tagging"
)

// A file or poster of an older revision is stale: the clip shows another
// stretch now, so it counts as none.
const clipColumns = `
	c.id, c.delivery_id, c.recording_id, r.camera, c.start_us, c.end_us, r.offset_us, r.rate_ppm, c.revision,
	coalesce(c.quick_revision = c.revision, false) AS has_quick,
	coalesce(c.quick_lead_us, 0) AS quick_lead_us, c.quick_frames,
	coalesce(c.smooth_revision = c.revision, false) AS has_smooth,
	coalesce(c.smooth_lead_us, 0) AS smooth_lead_us, c.smooth_frames,
	coalesce(c.poster_revision = c.revision, false) AS has_poster, c.problem`

const (
	// Side-on first: it is the view that most is coded from.
	sqlClipsOfBalls = `SELECT` + clipColumns + `
		FROM clip c JOIN recording r ON r.id = c.recording_id
		WHERE c.delivery_id = ANY(@balls::bigint[])
		ORDER BY c.delivery_id, array_position(ARRAY['side-on', 'behind-the-arm', 'other'], r.camera), r.id`

	sqlClip = `SELECT` + clipColumns + `
		FROM clip c JOIN recording r ON r.id = c.recording_id
		WHERE c.id = @id`

	sqlClipTasks = `SELECT` + clipColumns + `, r.sha256, r.probe, d.contact_us, d.start_us AS ball_start_us, d.end_us AS ball_end_us
		FROM clip c JOIN recording r ON r.id = c.recording_id JOIN delivery d ON d.id = c.delivery_id
		WHERE c.id = ANY(@ids::bigint[]) AND r.probe IS NOT NULL
		ORDER BY c.recording_id, c.start_us`

	// First the recording, as everybody takes them.
	sqlLockRecordingOfClip = `
		SELECT r.id, r.session_id, s.squad_id FROM recording r JOIN net_session s ON s.id = r.session_id
		WHERE r.id = (SELECT recording_id FROM clip WHERE id = @clip) FOR NO KEY UPDATE OF r`

	sqlSaveQuick = `
		UPDATE clip SET quick_revision = @revision, quick_lead_us = @lead, quick_frames = @frames, problem = ''
		WHERE id = @clip AND revision = @revision RETURNING delivery_id`

	sqlSaveSmooth = `
		UPDATE clip SET smooth_revision = @revision, smooth_lead_us = @lead, smooth_frames = @frames, problem = ''
		WHERE id = @clip AND revision = @revision RETURNING delivery_id`

	sqlSavePoster = `UPDATE clip SET poster_revision = @revision WHERE id = @clip AND revision = @revision`

	sqlFailClip = `UPDATE clip SET problem = @problem WHERE id = @clip RETURNING delivery_id`
)

const noClip = "There is no such clip. Perhaps its ball was removed."

type clipRow struct {
	ID, DeliveryID, RecordingID int64
	Camera                      media.Camera
	StartUS, EndUS              media.Micros
	OffsetUS                    media.Micros
	RatePPM                     float64
	Revision                    int
	HasQuick, HasSmooth         bool
	QuickLeadUS, SmoothLeadUS   media.Micros
	QuickFrames, SmoothFrames   []media.Micros
	HasPoster                   bool
	Problem                     string
}

func (r clipRow) clip() tagging.Clip {
	c := tagging.Clip{
		ID: r.ID, BallID: r.DeliveryID, RecordingID: r.RecordingID, Camera: r.Camera,
		Span: media.Span{Start: r.StartUS, End: r.EndUS}, Clock: media.Clock{Offset: r.OffsetUS, RatePPM: r.RatePPM},
		Revision: r.Revision, HasPoster: r.HasPoster, Problem: r.Problem,
	}
	if r.HasQuick {
		c.Quick = &tagging.ClipFile{Lead: r.QuickLeadUS, Frames: r.QuickFrames}
	}
	if r.HasSmooth {
		c.Smooth = &tagging.ClipFile{Lead: r.SmoothLeadUS, Frames: r.SmoothFrames}
	}
	return c
}

// Clip returns a clip of a ball that the viewer may see.
func (s *Store) Clip(ctx context.Context, v tagging.Viewer, id int64) (tagging.Clip, error) {
	c, err := s.clipFor(ctx, v, id)
	return c, trouble("db.Clip", err)
}

func (s *Store) clipFor(ctx context.Context, v tagging.Viewer, id int64) (tagging.Clip, error) {
	c, err := clipByID(ctx, s.pool, id)
	if err != nil {
		return c, err
	}
	return c, ballVisible(ctx, s.pool, v, c.BallID, noClip)
}

func clipByID(ctx context.Context, q querier, id int64) (tagging.Clip, error) {
	row, err := one[clipRow](ctx, q, sqlClip, args{"id": id})
	if errors.Is(err, pgx.ErrNoRows) {
		return tagging.Clip{}, absent(noClip)
	}
	return row.clip(), err
}

// WantClip puts the smooth version of a clip at the head of the queue, unless
// it is there.
func (s *Store) WantClip(ctx context.Context, v tagging.Viewer, id int64) error {
	const op = "db.WantClip"
	c, err := s.clipFor(ctx, v, id)
	if err != nil || c.Smooth != nil {
		return trouble(op, err)
	}
	return s.inTx(ctx, op, func(tx pgx.Tx) error {
		want := jobs.SmoothClip{ClipID: id, Revision: c.Revision}
		opts := want.InsertOpts()
		opts.Priority = jobs.PriorityLookedAt
		done, err := s.queue.InsertTx(ctx, tx, want, &opts)
		if err != nil || !done.UniqueSkippedAsDuplicate {
			return err
		}
		_, err = tx.Exec(ctx, sqlRaisePriority, args{"id": done.Job.ID, "priority": jobs.PriorityLookedAt})
		return err
	})
}

// ClipsForJob returns clips with their recording's content and probe, in the
// order in which they lie on it; those that are gone are left out.
func (s *Store) ClipsForJob(ctx context.Context, ids []int64) ([]jobs.ClipTask, error) {
	rows, err := all[struct {
		clipRow
		SHA256                 []byte `db:"sha256"`
		Probe                  media.Probe
		ContactUS              *media.Micros
		BallStartUS, BallEndUS media.Micros
	}](ctx, s.pool, sqlClipTasks, args{"ids": ids})
	if err != nil {
		return nil, trouble("db.ClipsForJob", err)
	}
	tasks := make([]jobs.ClipTask, len(rows))
	for i, r := range rows {
		c := r.clip()
		moment := tagging.Moment(media.Span{Start: r.BallStartUS, End: r.BallEndUS}, r.ContactUS)
		tasks[i] = jobs.ClipTask{
			Clip: c, SHA256: [32]byte(r.SHA256), Probe: r.Probe,
			Poster: min(max(c.Clock.ToRecording(moment), c.Span.Start), c.Span.End),
		}
	}
	return tasks, nil
}

// SaveQuick keeps the quick file of a clip if its revision is still wanted.
func (s *Store) SaveQuick(ctx context.Context, clipID int64, revision int, f tagging.ClipFile) (kept bool, err error) {
	return s.changeClip(ctx, "db.SaveQuick", clipID, sqlSaveQuick, args{
		"clip": clipID, "revision": revision, "lead": f.Lead, "frames": f.Frames,
	})
}

// SaveSmooth keeps the smooth file of a clip if its revision is still wanted.
func (s *Store) SaveSmooth(ctx context.Context, clipID int64, revision int, f tagging.ClipFile) (kept bool, err error) {
	return s.changeClip(ctx, "db.SaveSmooth", clipID, sqlSaveSmooth, args{
		"clip": clipID, "revision": revision, "lead": f.Lead, "frames": f.Frames,
	})
}

// SavePoster says that the poster of a revision is there. No page is told: a
// poster is made because a page asks for it, and that page gets it.
func (s *Store) SavePoster(ctx context.Context, clipID int64, revision int) error {
	_, err := s.pool.Exec(ctx, sqlSavePoster, args{"clip": clipID, "revision": revision})
	return trouble("db.SavePoster", err)
}

// FailClip records why a clip could not be cut, for the person.
func (s *Store) FailClip(ctx context.Context, clipID int64, problem string) error {
	_, err := s.changeClip(ctx, "db.FailClip", clipID, sqlFailClip, args{"clip": clipID, "problem": problem})
	return err
}

// changeClip runs a statement on one clip and says how far its recording is
// now. false when the clip is gone or shows another stretch by now.
func (s *Store) changeClip(ctx context.Context, op string, clipID int64, sql string, a args) (changed bool, err error) {
	err = s.inTx(ctx, op, func(tx pgx.Tx) error {
		changed = false
		r, err := all[struct{ ID, SessionID, SquadID int64 }](ctx, tx, sqlLockRecordingOfClip, args{"clip": clipID})
		if err != nil || len(r) == 0 {
			return err
		}
		balls, err := column[int64](ctx, tx, sql, a)
		if err != nil || len(balls) == 0 {
			return err
		}
		changed = true
		if err := settleRecordings(ctx, tx, []int64{r[0].ID}); err != nil {
			return err
		}
		return tell(ctx, tx, r[0].SquadID, tagging.Event{Topic: "clip", ID: clipID, Session: r[0].SessionID})
	})
	return changed, err
}
