package db

import (
	"context"

	"github.com/jackc/pgx/v5"

	"netreel/media"
	"netreel/media/fault"
	"netreel/media/split"
	"netreel/tagging"
)

// keptByPeople says of a ball d that a person made, changed, coded, measured or
// spoke of it, or put it into a reel: no split takes it away.
const keptByPeople = ` (d.touched_at IS NOT NULL OR d.origin = 'person'
		OR EXISTS (SELECT FROM observation o WHERE o.delivery_id = d.id)
		OR EXISTS (SELECT FROM reading m WHERE m.delivery_id = d.id AND m.status <> 'proposed')
		OR EXISTS (SELECT FROM felt f WHERE f.delivery_id = d.id)
		OR EXISTS (SELECT FROM reel_ball b WHERE b.delivery_id = d.id))`

const (
	sqlSaveTraces = `
		UPDATE recording SET found = coalesce(found, '[]'), candidates = @candidates, cut = @cut, breaks = @breaks, notes = @notes,
			sound_step_us = @sound_step, sound_trace = @sound,
			motion_step_us = @motion_step, motion_trace = @motion
		WHERE id = @id`

	// One that a person added and took off again says nothing of what is found.
	sqlKnownBalls = `
		SELECT d.id, d.start_us, d.end_us, d.contact_us, d.confidence, d.state = 'discarded' AS discarded,` + keptByPeople + ` AS kept,
			EXISTS (SELECT FROM proposal p WHERE p.delivery_id = d.id AND p.recording_id <> @recording) AS elsewhere,
			EXISTS (SELECT FROM proposal p WHERE p.delivery_id = d.id AND p.recording_id = @recording) AS here
		FROM delivery d
		WHERE d.session_id = @session AND NOT (d.origin = 'person' AND d.state = 'discarded'
			AND NOT EXISTS (SELECT FROM proposal p WHERE p.delivery_id = d.id))
		ORDER BY d.start_us, d.id`

	sqlDropBalls = `DELETE FROM delivery WHERE id = ANY(@ids::bigint[])`

	sqlAddProposed = `
		INSERT INTO delivery (session_id, start_us, contact_us, end_us, confidence, struck, origin, state)
		SELECT @session, n.*, 'split', 'proposed'
		FROM unnest(@starts::bigint[], @contacts::bigint[], @ends::bigint[], @confidences::double precision[],
			@struck::double precision[]) AS n
		RETURNING id`

	sqlMoveProposed = `
		UPDATE delivery d SET start_us = n.start_us, contact_us = n.contact_us, end_us = n.end_us,
			confidence = n.confidence, revision = d.revision + 1
		FROM unnest(@ids::bigint[], @starts::bigint[], @contacts::bigint[], @ends::bigint[], @confidences::double precision[])
			AS n (id, start_us, contact_us, end_us, confidence)
		WHERE d.id = n.id`

	// What the cameras together think of balls that nobody has touched.
	sqlThinkOfBalls = `
		UPDATE delivery d SET confidence = n.confidence, struck = n.struck
		FROM unnest(@ids::bigint[], @confidences::double precision[], @struck::double precision[]) AS n (id, confidence, struck)
		WHERE d.id = n.id AND d.origin = 'split' AND d.touched_at IS NULL
		  AND (d.confidence, d.struck) IS DISTINCT FROM (n.confidence, n.struck)`

	sqlDropProposals = `DELETE FROM proposal WHERE recording_id = @recording`

	sqlAddProposals = `
		INSERT INTO proposal (delivery_id, recording_id) SELECT ball, @recording FROM unnest(@balls::bigint[]) AS ball`
)

// SaveSplit keeps what the split of a recording thought of and found, and lays
// the session's balls anew (tagging.Resplit says how), makes the clips of all
// balls on this recording and queues their cutting. What it learnt of the
// camera position is kept for the next session. A cancelled recording is left alone.
func (s *Store) SaveSplit(ctx context.Context, id int64, found split.Result) error {
	return s.saveFound(ctx, "db.SaveSplit", id, found, true)
}

// SaveHeard keeps what a split has found by sound, so that people need not wait
// for the rest, and queues the cutting of its clips. The recording stays as it
// is, its split under way. One that was split before is left alone: what was
// found then is better.
func (s *Store) SaveHeard(ctx context.Context, id int64, found split.Result) error {
	return s.saveFound(ctx, "db.SaveHeard", id, found, false)
}

func (s *Store) saveFound(ctx context.Context, op string, id int64, found split.Result, whole bool) error {
	return s.inTx(ctx, op, func(tx pgx.Tx) error {
		r, err := lockRecording(ctx, tx, id)
		if err != nil || r.State == tagging.Cancelled || r.IsSplit && !whole {
			return err
		}
		if r.Probe == nil {
			return fault.New(fault.Conflict, "", "This recording has not been looked at yet. Start its work again.")
		}
		if _, err := tx.Exec(ctx, sqlSaveTraces, args{
			"id": id, "candidates": list(found.Balls), "cut": found.Cut, "breaks": list(found.Breaks), "notes": list(found.Notes),
			"sound_step": stepOf(found.Sound), "sound": found.Sound.Values,
			"motion_step": stepOf(found.Motion), "motion": found.Motion.Values,
		}); err != nil {
			return err
		}
		if whole {
			if err := saveProfile(ctx, tx, r, found.Profile); err != nil {
				return err
			}
			if err := setState(ctx, tx, &r, tagging.Split, stepClips, ""); err != nil {
				return err
			}
		}
		return s.layAll(ctx, tx, r.SquadID, r.SessionID, onRecording(r.ID))
	})
}

// list is never nil, which a column that must not be null needs.
func list[T any](values []T) []T {
	if values == nil {
		return []T{}
	}
	return values
}

// stepOf is nil for a trace of nothing: a film without sound.
func stepOf(t media.Trace) *media.Micros {
	if len(t.Values) == 0 {
		return nil
	}
	return &t.Step
}

type knownBall struct {
	ballToPlan
	Confidence      float64
	Kept, Elsewhere bool
	Here            bool // this recording's split found it
}

func knownBalls(ctx context.Context, tx pgx.Tx, r tagging.Recording) ([]knownBall, error) {
	return all[knownBall](ctx, tx, sqlKnownBalls, args{"session": r.SessionID, "recording": r.ID})
}

// place puts what a recording's split found among the balls that are known.
func place(ctx context.Context, tx pgx.Tx, r tagging.Recording, found []split.Ball) error {
	known, err := knownBalls(ctx, tx, r)
	if err != nil {
		return err
	}
	balls := make([]tagging.Known, len(known))
	for i, k := range known {
		balls[i] = tagging.Known{
			ID: k.ID, Span: k.span(), Contact: k.ContactUS, Kept: k.Kept, Discarded: k.Discarded, Elsewhere: k.Elsewhere,
		}
	}
	proposals := make([]media.Delivery, len(found))
	for i, b := range found {
		proposals[i] = onSession(r.Clock, b.Delivery)
	}
	placed, gone := tagging.Resplit(balls, proposals)
	return savePlacements(ctx, tx, r, found, placed, gone)
}

// onSession moves a delivery from a recording's own clock to the session's.
func onSession(c media.Clock, d media.Delivery) media.Delivery {
	d.Start, d.End = c.ToSession(d.Start), c.ToSession(d.End)
	if d.Contact != nil {
		contact := c.ToSession(*d.Contact)
		d.Contact = &contact
	}
	return d
}

func savePlacements(ctx context.Context, tx pgx.Tx, r tagging.Recording, found []split.Ball, placed []tagging.Placement, gone []int64) error {
	if len(gone) > 0 {
		if _, err := tx.Exec(ctx, sqlDropBalls, args{"ids": gone}); err != nil {
			return err
		}
	}
	var fresh, moved, there []tagging.Placement
	var balls []int64
	for _, p := range placed {
		switch {
		case p.BallID == 0:
			fresh = append(fresh, p)
			continue
		case p.Moves:
			moved = append(moved, p)
		}
		there, balls = append(there, p), append(balls, p.BallID)
	}
	if err := moveBalls(ctx, tx, moved); err != nil {
		return err
	}
	thoughts := args{"ids": balls, "confidences": edges(there)["confidences"], "struck": struck(there, found)}
	if _, err := tx.Exec(ctx, sqlThinkOfBalls, thoughts); err != nil {
		return err
	}
	if len(fresh) > 0 {
		a := edges(fresh)
		a["session"], a["struck"] = r.SessionID, struck(fresh, found)
		added, err := column[int64](ctx, tx, sqlAddProposed, a)
		if err != nil {
			return err
		}
		balls = append(balls, added...)
	}
	if _, err := tx.Exec(ctx, sqlDropProposals, args{"recording": r.ID}); err != nil {
		return err
	}
	_, err := tx.Exec(ctx, sqlAddProposals, args{"recording": r.ID, "balls": balls})
	return err
}

func edges(placed []tagging.Placement) args {
	n := len(placed)
	starts, ends, contacts := make([]media.Micros, n), make([]media.Micros, n), make([]*media.Micros, n)
	confidences := make([]float64, n)
	for i, p := range placed {
		d := p.Delivery
		starts[i], ends[i], contacts[i], confidences[i] = d.Start, d.End, d.Contact, d.Confidence
	}
	return args{"starts": starts, "ends": ends, "contacts": contacts, "confidences": confidences}
}

func struck(placed []tagging.Placement, found []split.Ball) []float64 {
	list := make([]float64, len(placed))
	for i, p := range placed {
		list[i] = found[p.Proposal].Struck
	}
	return list
}

// moveFound follows a recording's new clock: the balls that only its split found
// move along with it, so that each keeps its row. What it found is to be laid
// anew then (layAll), since balls may now be the same as another camera's.
func moveFound(ctx context.Context, tx pgx.Tx, r tagging.Recording, before media.Clock) error {
	known, err := knownBalls(ctx, tx, r)
	if err != nil {
		return err
	}
	var along []tagging.Placement
	for _, k := range known {
		if !k.Here || k.Kept || k.Elsewhere {
			continue
		}
		own := media.Delivery{
			Start: before.ToRecording(k.StartUS), End: before.ToRecording(k.EndUS), Confidence: k.Confidence,
		}
		if k.ContactUS != nil {
			contact := before.ToRecording(*k.ContactUS)
			own.Contact = &contact
		}
		along = append(along, tagging.Placement{BallID: k.ID, Delivery: onSession(r.Clock, own)})
	}
	return moveBalls(ctx, tx, along)
}

func moveBalls(ctx context.Context, tx pgx.Tx, moved []tagging.Placement) error {
	if len(moved) == 0 {
		return nil
	}
	a, ids := edges(moved), make([]int64, len(moved))
	for i, p := range moved {
		ids[i] = p.BallID
	}
	a["ids"] = ids
	_, err := tx.Exec(ctx, sqlMoveProposed, a)
	return err
}
