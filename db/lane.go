package db

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"netreel/media"
	"netreel/media/fault"
	"netreel/tagging"
)

// Limits of an edit of the lane, and of a ball on it.
const (
	maxEdits                = 2000
	minBall    media.Micros = media.Second / 5
	maxBall    media.Micros = 60 * media.Second
	maxLaneEnd              = 7 * 24 * 3600 * media.Second
)

const ballColumns = `
	d.id, d.session_id, coalesce(d.number, 0) AS number, d.start_us, d.contact_us, d.end_us, d.confidence, d.struck, d.origin, d.state,
	d.revision, coalesce(d.block_id, 0) AS block_id, coalesce(d.player_id, 0) AS player_id, coalesce(d.batter_id, 0) AS batter_id`

const (
	sqlLaneBalls = `SELECT` + ballColumns + ` FROM delivery d WHERE d.session_id = @session ORDER BY d.start_us, d.id`

	sqlLaneBallsOf = `SELECT` + ballColumns + `
		FROM delivery d WHERE d.session_id = @session AND d.id = ANY(@ids::bigint[])`

	sqlAddBalls = `
		INSERT INTO delivery (session_id, start_us, contact_us, end_us, confidence, origin, state, batter_id, touched_by, touched_at)
		SELECT @session, n.start_us, n.contact_us, n.end_us, 1, 'person', n.state, nullif(n.batter_id, 0), @account, now()
		FROM unnest(@starts::bigint[], @contacts::bigint[], @ends::bigint[], @states::text[], @batters::bigint[])
			WITH ORDINALITY AS n (start_us, contact_us, end_us, state, batter_id, place)
		ORDER BY n.place
		RETURNING id`

	sqlEditBalls = `
		UPDATE delivery d SET start_us = n.start_us, contact_us = n.contact_us, end_us = n.end_us, state = n.state,
			batter_id = nullif(n.batter_id, 0), revision = d.revision + 1, touched_by = @account, touched_at = now()
		FROM unnest(@ids::bigint[], @starts::bigint[], @contacts::bigint[], @ends::bigint[], @states::text[], @batters::bigint[])
			AS n (id, start_us, contact_us, end_us, state, batter_id)
		WHERE d.id = n.id`
)

type ballRow struct {
	ID, SessionID               int64
	Number                      int
	StartUS, EndUS              media.Micros
	ContactUS                   *media.Micros
	Confidence                  float64
	Struck                      *float64
	Origin                      string
	State                       tagging.BallState
	Revision                    int
	BlockID, PlayerID, BatterID int64
}

func (r ballRow) ball() tagging.Ball {
	return tagging.Ball{
		ID: r.ID, SessionID: r.SessionID, Number: r.Number, Span: media.Span{Start: r.StartUS, End: r.EndUS},
		Contact: r.ContactUS, Confidence: r.Confidence, Struck: r.Struck, Origin: r.Origin, State: r.State, Revision: r.Revision,
		BlockID: r.BlockID, PlayerID: r.PlayerID, BatterID: r.BatterID,
	}
}

// Lane returns a session laid out in time, to staff.
func (s *Store) Lane(ctx context.Context, v tagging.Viewer, sessionID int64) (lane tagging.Lane, err error) {
	err = s.read(ctx, "db.Lane", func(tx pgx.Tx) error {
		if err := staffRead(v, noSession); err != nil {
			return err
		}
		if _, err := session(ctx, tx, v, sessionID); err != nil {
			return err
		}
		recordings, err := all[recordingRow](ctx, tx, sqlRecordings, args{"session": sessionID})
		if err != nil {
			return err
		}
		for _, r := range recordings {
			lane.Recordings = append(lane.Recordings, r.recording())
		}
		if lane.Blocks, err = blocks(ctx, tx, sessionID); err != nil {
			return err
		}
		balls, err := all[ballRow](ctx, tx, sqlLaneBalls, args{"session": sessionID})
		for _, b := range balls {
			lane.Balls = append(lane.Balls, b.ball())
		}
		if err != nil {
			return err
		}
		return cutting(ctx, tx, sessionID, &lane)
	})
	return lane, err
}

// EditLane applies an edit whole or not at all and returns the balls changed,
// in the edit's order, without clips. Clips whose stretch changed are cut anew.
func (s *Store) EditLane(ctx context.Context, v tagging.Viewer, sessionID int64, e tagging.LaneEdit) (changed []tagging.Ball, err error) {
	err = s.inTx(ctx, "db.EditLane", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		if err := lockSession(ctx, tx, v, sessionID); err != nil {
			return err
		}
		if err := checkEdits(e.Balls); err != nil {
			return err
		}
		if err := playersThere(ctx, tx, v.SquadID, batters(e.Balls)); err != nil {
			return err
		}
		before, err := notStale(ctx, tx, sessionID, e.Balls)
		if err != nil {
			return err
		}
		ids, err := saveEdits(ctx, tx, v, sessionID, e.Balls)
		if err != nil {
			return err
		}
		if err := settle(ctx, tx, sessionID); err != nil {
			return err
		}
		// What was discarded may never have been cut.
		restored := func(c plannedClip) bool { return before[c.DeliveryID].State == tagging.Discarded }
		if err := s.plan(ctx, tx, sessionID, planning{balls: ids, again: restored, urgent: len(ids) <= maxUrgent}); err != nil {
			return err
		}
		if changed, err = laneBalls(ctx, tx, sessionID, ids); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "lane", ID: sessionID, Session: sessionID})
	})
	return changed, err
}

// maxUrgent is how many balls may be edited at once and still have their clips
// cut before everybody else's.
const maxUrgent = 4

func checkEdits(edits []tagging.BallEdit) error {
	var f form
	if len(edits) == 0 || len(edits) > maxEdits {
		f.bad("balls", fmt.Sprintf("must be 1 to %d", maxEdits))
	}
	ids := map[int64]bool{}
	for i, b := range edits {
		at := fmt.Sprintf("balls.%d.", i)
		if n := b.Span.Length(); n < minBall || n > maxBall {
			f.bad(at+"end_us", "must make the ball 0.2 to 60 seconds long")
		}
		if b.Span.Start < -maxLaneEnd || b.Span.End > maxLaneEnd {
			f.bad(at+"start_us", "lies too far away")
		}
		if c := b.Contact; c != nil && (*c < b.Span.Start || *c > b.Span.End) {
			f.bad(at+"contact_us", "must lie within the ball")
		}
		if b.State != tagging.Proposed && b.State != tagging.Accepted && b.State != tagging.Discarded {
			f.bad(at+"state", "must be proposed, accepted or discarded")
		}
		if b.ID != 0 && ids[b.ID] {
			f.bad(at+"id", "is there twice")
		}
		ids[b.ID] = true
	}
	return f.err()
}

func batters(edits []tagging.BallEdit) []int64 {
	seen := map[int64]bool{0: true}
	var list []int64
	for _, b := range edits {
		if !seen[b.BatterID] {
			seen[b.BatterID] = true
			list = append(list, b.BatterID)
		}
	}
	return list
}

// notStale checks that every ball is there as the page knew it, and returns
// them as they are.
func notStale(ctx context.Context, tx pgx.Tx, sessionID int64, edits []tagging.BallEdit) (map[int64]ballRow, error) {
	var ids []int64
	for _, b := range edits {
		if b.ID != 0 {
			ids = append(ids, b.ID)
		}
	}
	rows, err := all[ballRow](ctx, tx, sqlLaneBallsOf, args{"session": sessionID, "ids": ids})
	if err != nil {
		return nil, err
	}
	there := map[int64]ballRow{}
	for _, b := range rows {
		there[b.ID] = b
	}
	for _, b := range edits {
		now, ok := there[b.ID]
		switch {
		case b.ID == 0:
		case !ok:
			return nil, fault.New(fault.Conflict, "", "A ball has gone meanwhile: the recording was split again. Reload the lane.")
		case now.Revision != b.Revision:
			return nil, fault.New(fault.Conflict, "", "Somebody else changed this ball meanwhile. Reload the lane and look again.")
		}
	}
	return there, nil
}

// saveEdits writes the balls and returns their ids in the edit's order.
func saveEdits(ctx context.Context, tx pgx.Tx, v tagging.Viewer, sessionID int64, edits []tagging.BallEdit) ([]int64, error) {
	var fresh, known []tagging.BallEdit
	for _, b := range edits {
		if b.ID == 0 {
			fresh = append(fresh, b)
		} else {
			known = append(known, b)
		}
	}
	if len(known) > 0 {
		a := editArgs(v, known)
		if _, err := tx.Exec(ctx, sqlEditBalls, a); err != nil {
			return nil, err
		}
	}
	var added []int64
	if len(fresh) > 0 {
		a := editArgs(v, fresh)
		delete(a, "ids")
		a["session"] = sessionID
		var err error
		if added, err = column[int64](ctx, tx, sqlAddBalls, a); err != nil {
			return nil, err
		}
	}
	ids := make([]int64, len(edits))
	for i, b := range edits {
		ids[i] = b.ID
		if b.ID == 0 {
			ids[i], added = added[0], added[1:]
		}
	}
	return ids, nil
}

func editArgs(v tagging.Viewer, edits []tagging.BallEdit) args {
	n := len(edits)
	ids, batters, states := make([]int64, n), make([]int64, n), make([]string, n)
	starts, ends, contacts := make([]media.Micros, n), make([]media.Micros, n), make([]*media.Micros, n)
	for i, b := range edits {
		ids[i], batters[i], states[i] = b.ID, b.BatterID, string(b.State)
		starts[i], ends[i], contacts[i] = b.Span.Start, b.Span.End, b.Contact
	}
	return args{
		"account": v.AccountID, "ids": ids, "starts": starts, "ends": ends, "contacts": contacts,
		"states": states, "batters": batters,
	}
}

// laneBalls returns balls of a session in the order of ids.
func laneBalls(ctx context.Context, tx pgx.Tx, sessionID int64, ids []int64) ([]tagging.Ball, error) {
	rows, err := all[ballRow](ctx, tx, sqlLaneBallsOf, args{"session": sessionID, "ids": ids})
	if err != nil {
		return nil, err
	}
	byID := map[int64]tagging.Ball{}
	for _, r := range rows {
		byID[r.ID] = r.ball()
	}
	list := make([]tagging.Ball, len(ids))
	for i, id := range ids {
		list[i] = byID[id]
	}
	return list, nil
}
