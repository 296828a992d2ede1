package db

import (
	"context"
	"slices"

	"github.com/jackc/pgx/v5"

	"netreel/media"
	"netreel/media/jobs"
	"netreel/tagging"
)

const (
	// In the order of their ids, as everybody takes them.
	sqlLockSplitRecordings = `SELECT` + recordingColumns + `
		FROM recording r
		WHERE r.session_id = @session AND r.probe IS NOT NULL AND r.found IS NOT NULL
		ORDER BY r.id FOR NO KEY UPDATE`

	sqlBallsToPlan = `
		SELECT id, start_us, end_us, contact_us, state = 'discarded' AS discarded
		FROM delivery WHERE session_id = @session AND (@every OR id = ANY(@balls::bigint[]))
		ORDER BY start_us, id`

	sqlClipsToPlan = `
		SELECT c.id, c.delivery_id, c.recording_id, c.start_us, c.end_us, c.revision,
			coalesce(c.quick_revision = c.revision, false) AS has_quick,
			coalesce(c.smooth_revision = c.revision, false) AS has_smooth, c.problem <> '' AS failed
		FROM clip c JOIN delivery d ON d.id = c.delivery_id
		WHERE d.session_id = @session AND (@every OR d.id = ANY(@balls::bigint[]))`

	sqlAddClips = `
		INSERT INTO clip (delivery_id, recording_id, start_us, end_us)
		SELECT * FROM unnest(@balls::bigint[], @recordings::bigint[], @starts::bigint[], @ends::bigint[])
		RETURNING id, delivery_id, recording_id, start_us, end_us, revision,
			false AS has_quick, false AS has_smooth, false AS failed`

	sqlMoveClips = `
		UPDATE clip c SET start_us = n.start_us, end_us = n.end_us, revision = c.revision + 1, problem = ''
		FROM unnest(@ids::bigint[], @starts::bigint[], @ends::bigint[]) AS n (id, start_us, end_us)
		WHERE c.id = n.id
		RETURNING c.id, c.delivery_id, c.recording_id, c.start_us, c.end_us, c.revision,
			false AS has_quick, false AS has_smooth, false AS failed`

	sqlDropClips = `DELETE FROM clip WHERE id = ANY(@ids::bigint[])`

	// How far the cutting of recordings is; those with nothing left to cut are ready. Discarded balls don't count.
	sqlSettleRecordings = `
		WITH counted AS (
			SELECT r.id, count(c.id)::double precision AS clips, count(c.id) FILTER (WHERE c.problem <> ''
				OR c.quick_revision = c.revision OR c.smooth_revision = c.revision) AS done
			FROM recording r LEFT JOIN (clip c JOIN delivery d ON d.id = c.delivery_id AND d.state <> 'discarded')
				ON c.recording_id = r.id
			WHERE r.id = ANY(@ids::bigint[]) AND r.state = 'split'
			GROUP BY r.id
		), settled AS (
			SELECT id, 'ready' AS state, '' AS step, 0 AS progress FROM counted WHERE done = clips
			UNION ALL
			SELECT id, 'split', 'clips', done / clips FROM counted WHERE done < clips
		)
		UPDATE recording r SET state = t.state, step = t.step, progress = t.progress
		FROM settled t
		WHERE r.id = t.id AND (r.state, r.step, r.progress) IS DISTINCT FROM (t.state, t.step, t.progress)
		RETURNING r.id, r.session_id, (SELECT s.squad_id FROM net_session s WHERE s.id = r.session_id) AS squad_id`
)

// sameStretch is how far the ends of a stretch may move without its clip being
// cut anew: the rounding of a clock's there and back.
const sameStretch media.Micros = 2

type ballToPlan struct {
	ID             int64
	StartUS, EndUS media.Micros
	ContactUS      *media.Micros
	Discarded      bool
}

func (b ballToPlan) span() media.Span { return media.Span{Start: b.StartUS, End: b.EndUS} }

type plannedClip struct {
	ID, DeliveryID, RecordingID int64
	StartUS, EndUS              media.Micros
	Revision                    int
	HasQuick, HasSmooth, Failed bool
}

// planning says which clips a plan looks at.
type planning struct {
	every  bool    // those of all the session's balls
	balls  []int64 // or of these
	urgent bool    // a person waits for them

	// again picks the clips that show the same stretch as before but lack a file, and are to be cut now. Those of
	// others have been queued already.
	again func(plannedClip) bool
}

// plan brings the clips of balls up to date with where the balls lie on each
// recording, and queues the cutting of those that are new or show another
// stretch now.
func (s *Store) plan(ctx context.Context, tx pgx.Tx, session int64, p planning) error {
	rows, err := all[recordingRow](ctx, tx, sqlLockSplitRecordings, args{"session": session})
	if err != nil {
		return err
	}
	recordings := make([]tagging.Recording, len(rows))
	ids := make([]int64, len(rows))
	for i, r := range rows {
		recordings[i], ids[i] = r.recording(), r.ID
	}
	a := args{"session": session, "every": p.every, "balls": p.balls}
	balls, err := all[ballToPlan](ctx, tx, sqlBallsToPlan, a)
	if err != nil {
		return err
	}
	there, err := all[plannedClip](ctx, tx, sqlClipsToPlan, a)
	if err != nil {
		return err
	}
	toCut, err := changeClips(ctx, tx, wantedClips(recordings, balls, there, p.again))
	if err != nil {
		return err
	}
	if err := s.cut(ctx, tx, recordings, toCut, p.urgent); err != nil {
		return err
	}
	return settleRecordings(ctx, tx, ids)
}

// clipChanges is what a plan does to the clips that are there.
type clipChanges struct {
	add, move, again []plannedClip
	drop             []int64
}

// wantedClips compares the clips that are there with those that should be:
// one of each ball on each recording that shows its moment. Those of discarded
// balls are left as they are, in case the ball is restored.
func wantedClips(recordings []tagging.Recording, balls []ballToPlan, there []plannedClip, again func(plannedClip) bool) clipChanges {
	type place struct{ ball, recording int64 }
	have := map[place]plannedClip{}
	for _, c := range there {
		have[place{c.DeliveryID, c.RecordingID}] = c
	}
	var ch clipChanges
	for _, b := range balls {
		if b.Discarded {
			continue
		}
		for _, r := range recordings {
			c, ok := have[place{b.ID, r.ID}]
			span, shown := shownOn(r, b)
			switch {
			case !shown && ok:
				ch.drop = append(ch.drop, c.ID)
			case !shown:
			case !ok:
				ch.add = append(ch.add, plannedClip{DeliveryID: b.ID, RecordingID: r.ID, StartUS: span.Start, EndUS: span.End})
			case apart(c.StartUS, span.Start) > sameStretch || apart(c.EndUS, span.End) > sameStretch:
				c.StartUS, c.EndUS = span.Start, span.End
				ch.move = append(ch.move, c)
			case again != nil && !c.Failed && again(c):
				ch.again = append(ch.again, c)
			}
		}
	}
	return ch
}

func apart(a, b media.Micros) media.Micros { return max(a-b, b-a) }

// shownOn is the stretch of a recording, on its own clock, that shows a ball;
// false when its moment is not in the film.
func shownOn(r tagging.Recording, b ballToPlan) (media.Span, bool) {
	film := filmed(*r.Probe)
	if !film.Contains(r.Clock.ToRecording(tagging.Moment(b.span(), b.ContactUS))) {
		return media.Span{}, false
	}
	own := media.Span{
		Start: max(film.Start, r.Clock.ToRecording(b.StartUS)), End: min(film.End, r.Clock.ToRecording(b.EndUS)),
	}
	return own, own.Length() > 0
}

// changeClips makes the changes and returns all clips whose files are to be
// made, in no order.
func changeClips(ctx context.Context, tx pgx.Tx, ch clipChanges) ([]plannedClip, error) {
	toCut := ch.again
	if len(ch.drop) > 0 {
		if _, err := tx.Exec(ctx, sqlDropClips, args{"ids": ch.drop}); err != nil {
			return nil, err
		}
	}
	if len(ch.move) > 0 {
		a := clipArgs(ch.move)
		delete(a, "balls")
		delete(a, "recordings")
		moved, err := all[plannedClip](ctx, tx, sqlMoveClips, a)
		if err != nil {
			return nil, err
		}
		toCut = append(toCut, moved...)
	}
	if len(ch.add) > 0 {
		a := clipArgs(ch.add)
		delete(a, "ids")
		added, err := all[plannedClip](ctx, tx, sqlAddClips, a)
		if err != nil {
			return nil, err
		}
		toCut = append(toCut, added...)
	}
	return toCut, nil
}

func clipArgs(clips []plannedClip) args {
	n := len(clips)
	ids, balls, recordings := make([]int64, n), make([]int64, n), make([]int64, n)
	starts, ends := make([]media.Micros, n), make([]media.Micros, n)
	for i, c := range clips {
		ids[i], balls[i], recordings[i], starts[i], ends[i] = c.ID, c.DeliveryID, c.RecordingID, c.StartUS, c.EndUS
	}
	return args{"ids": ids, "balls": balls, "recordings": recordings, "starts": starts, "ends": ends}
}

// cut queues the files that clips lack, in the order in which they lie on each
// recording: quick ones in batches where the browser shows the original, and
// smooth ones later; else smooth ones at once. While a recording is being split
// only quick ones are queued: they are cheap, and what the split finds in the
// end may change them. Recordings that failed or were cancelled are left alone.
func (s *Store) cut(ctx context.Context, tx pgx.Tx, recordings []tagging.Recording, clips []plannedClip, urgent bool) error {
	slices.SortFunc(clips, func(a, b plannedClip) int { return int(a.StartUS - b.StartUS) })
	var list []job
	for _, r := range recordings {
		if r.State == tagging.Failed || r.State == tagging.Cancelled {
			continue
		}
		var quick []plannedClip
		var smooth []job
		for _, c := range clips {
			if c.RecordingID != r.ID || c.HasSmooth {
				continue
			}
			priority := jobs.PriorityLater
			if !r.Probe.BrowserShows() {
				priority = jobs.PriorityNew
				if urgent {
					priority = jobs.PriorityLookedAt
				}
			} else if !c.HasQuick {
				quick = append(quick, c)
			}
			smooth = append(smooth, job{jobs.SmoothClip{ClipID: c.ID, Revision: c.Revision}, priority})
		}
		for batch := range slices.Chunk(quick, jobs.CutBatch) {
			priority := jobs.PriorityNew
			if urgent {
				priority = jobs.PriorityLookedAt
			}
			work := jobs.CutClips{RecordingID: r.ID}
			for _, c := range batch {
				work.ClipIDs, work.Revisions = append(work.ClipIDs, c.ID), append(work.Revisions, c.Revision)
			}
			list = append(list, job{work, priority})
		}
		if r.State != tagging.Probed {
			list = append(list, smooth...)
		}
	}
	return s.enqueue(ctx, tx, list...)
}

// settleRecordings says of recordings whose clips are being cut how far they
// are, and which are ready. Their rows must be locked.
func settleRecordings(ctx context.Context, tx pgx.Tx, ids []int64) error {
	moved, err := all[struct{ ID, SessionID, SquadID int64 }](ctx, tx, sqlSettleRecordings, args{"ids": ids})
	if err != nil {
		return err
	}
	for _, r := range moved {
		e := tagging.Event{Topic: "recording", ID: r.ID, Session: r.SessionID}
		if err := tell(ctx, tx, r.SquadID, e); err != nil {
			return err
		}
	}
	return nil
}
