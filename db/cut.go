package db

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"github.com/jackc/pgx/v5"

	"netreel/media"
	"netreel/media/fault"
	"netreel/media/split"
	"netreel/tagging"
)

const (
	sqlSetCut = `UPDATE net_session SET cut = @cut WHERE id = @session`

	sqlLockSessionForJob = `SELECT squad_id FROM net_session WHERE id = @session FOR NO KEY UPDATE`

	sqlBreaks = `
		SELECT offset_us, rate_ppm, breaks FROM recording
		WHERE session_id = @session AND candidates IS NOT NULL ORDER BY id`

	// What people have said of balls that a recording shows.
	sqlSaidBalls = `
		SELECT d.start_us, d.end_us, d.contact_us, d.state = 'discarded' AS discarded FROM delivery d
		WHERE d.session_id = @session AND d.touched_at IS NOT NULL AND (d.state <> 'discarded' OR d.origin = 'split')
		ORDER BY d.start_us, d.id`

	sqlProfile = `
		SELECT p.profile FROM camera_profile p
		JOIN net_session s ON s.squad_id = p.squad_id AND s.place = p.place
		WHERE s.id = @session AND p.camera = @camera`

	sqlSaveProfile = `
		INSERT INTO camera_profile (squad_id, place, camera, profile)
		SELECT s.squad_id, s.place, @camera, @profile FROM net_session s WHERE s.id = @session AND s.place <> ''
		ON CONFLICT (squad_id, place, camera) DO UPDATE SET profile = excluded.profile`
)

func lockSessionForJob(ctx context.Context, tx pgx.Tx, session int64) (squad int64, err error) {
	squad, err = value[int64](ctx, tx, sqlLockSessionForJob, args{"session": session})
	if errors.Is(err, pgx.ErrNoRows) {
		err = absent(noSession)
	}
	return squad, err
}

// SetCut proposes balls from another confidence on, at once: what the splits
// thought of is kept, so nothing is looked at anew. nil is what the splits
// propose themselves. What a person has touched stays.
func (s *Store) SetCut(ctx context.Context, v tagging.Viewer, session int64, cut *float64) error {
	return s.inTx(ctx, "db.SetCut", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		if cut != nil && !(*cut >= 0 && *cut <= 1) { // NaN too
			var f form
			f.bad("cut", "must be 0 to 1")
			return f.err()
		}
		if err := lockSession(ctx, tx, v, session); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, sqlSetCut, args{"session": session, "cut": cut}); err != nil {
			return err
		}
		return s.layAll(ctx, tx, v.SquadID, session, nil)
	})
}

// cutting fills what of a lane belongs to the cut.
func cutting(ctx context.Context, tx pgx.Tx, session int64, lane *tagging.Lane) error {
	recordings, chosen, err := splitRecordings(ctx, tx, session)
	if err != nil {
		return err
	}
	lane.Cut = 0.5 // nothing is split yet
	// Each has its own until one is chosen for all.
	for i, r := range recordings {
		if i == 0 || r.Cut < lane.Cut {
			lane.Cut = r.Cut
		}
	}
	if chosen != nil {
		lane.Cut, lane.CutChosen = *chosen, true
	}
	lane.Weak = weak(recordings, lane.Balls)
	lane.Breaks, err = sessionBreaks(ctx, tx, session)
	return err
}

// weak lists what the splits thought of and what is no ball of the lane, of
// several cameras' views of one the surest.
func weak(recordings []splitRecording, balls []tagging.Ball) []media.Delivery {
	var list []media.Delivery
	for i, r := range recordings {
		for _, b := range split.Above(jointly(i, recordings), 0) {
			list = append(list, onSession(r.Clock, b.Delivery))
		}
	}
	moment := func(d media.Delivery) media.Micros { return tagging.Moment(d.Span(), d.Contact) }
	slices.SortStableFunc(list, func(a, b media.Delivery) int { return cmp.Compare(b.Confidence, a.Confidence) })
	var out []media.Delivery // ascending by moment
	for _, d := range list {
		at := moment(d)
		taken := slices.ContainsFunc(balls, func(b tagging.Ball) bool { return b.Span.Contains(at) })
		k, _ := slices.BinarySearchFunc(out, at, func(o media.Delivery, t media.Micros) int { return cmp.Compare(moment(o), t) })
		if taken || k > 0 && moment(out[k-1])+media.Second > at || k < len(out) && moment(out[k])-media.Second < at {
			continue
		}
		out = slices.Insert(out, k, d)
	}
	return out
}

// sessionBreaks lists the gaps that look like the end of a block to all cameras
// that filmed them.
func sessionBreaks(ctx context.Context, q querier, session int64) ([]media.Span, error) {
	rows, err := all[struct {
		OffsetUS media.Micros
		RatePPM  float64
		Breaks   []media.Span
	}](ctx, q, sqlBreaks, args{"session": session})
	var out []media.Span
	for _, r := range rows {
		clock := media.Clock{Offset: r.OffsetUS, RatePPM: r.RatePPM}
		for _, b := range r.Breaks {
			gap := media.Span{Start: clock.ToSession(b.Start), End: clock.ToSession(b.End)}
			at := slices.IndexFunc(out, func(o media.Span) bool { return o.Overlap(gap) > 0 })
			if at < 0 {
				out = append(out, gap)
				continue
			}
			out[at] = media.Span{Start: max(out[at].Start, gap.Start), End: min(out[at].End, gap.End)}
		}
	}
	slices.SortFunc(out, func(a, b media.Span) int { return cmp.Compare(a.Start, b.Start) })
	return out, err
}

// SplitHints says what is known of a recording before it is split: what people
// have said of its balls, and what an earlier session from the same camera
// position taught.
func (s *Store) SplitHints(ctx context.Context, id int64) (h split.Hints, err error) {
	err = s.read(ctx, "db.SplitHints", func(tx pgx.Tx) error {
		row, err := one[recordingRow](ctx, tx, sqlRecording, args{"id": id})
		if errors.Is(err, pgx.ErrNoRows) {
			return absent(noRecording)
		}
		if err != nil {
			return err
		}
		r := row.recording()
		if r.Probe == nil {
			return fault.New(fault.Conflict, "", "This recording has not been looked at yet. Start its work again.")
		}
		said, err := all[struct {
			StartUS, EndUS media.Micros
			ContactUS      *media.Micros
			Discarded      bool
		}](ctx, tx, sqlSaidBalls, args{"session": r.SessionID})
		if err != nil {
			return err
		}
		for _, b := range said {
			span, shown := shownOn(r, ballToPlan{StartUS: b.StartUS, EndUS: b.EndUS, ContactUS: b.ContactUS})
			if !shown {
				continue
			}
			d := media.Delivery{Start: span.Start, End: span.End, Confidence: 1}
			if b.ContactUS != nil {
				at := r.Clock.ToRecording(*b.ContactUS)
				d.Contact = &at
			}
			if b.Discarded {
				h.Discarded = append(h.Discarded, d)
			} else {
				h.Balls = append(h.Balls, d)
			}
		}
		profiles, err := column[split.Profile](ctx, tx, sqlProfile, args{"session": r.SessionID, "camera": r.Camera})
		if len(profiles) > 0 {
			h.Profile = &profiles[0]
		}
		return err
	})
	return h, err
}

// saveProfile keeps what a session taught of a camera position, which is a
// place and a camera: without a place there is none.
func saveProfile(ctx context.Context, tx pgx.Tx, r lockedRecording, p split.Profile) error {
	if p.Balls == 0 {
		return nil
	}
	_, err := tx.Exec(ctx, sqlSaveProfile, args{"session": r.SessionID, "camera": r.Camera, "profile": p})
	return err
}
