package db

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"github.com/jackc/pgx/v5"

	"netreel/tagging"
)

const (
	sqlBalls = `SELECT` + ballColumns + ` FROM delivery d WHERE d.id = ANY(@ids::bigint[])`

	sqlSessionBalls = `
		SELECT d.id FROM delivery d
		WHERE d.session_id = @session AND d.state <> 'discarded' AND (@player::bigint = 0 OR d.player_id = @player)
		ORDER BY d.number`

	sqlMeasured = `
		SELECT r.delivery_id, r.recording_id, v.measure, v.value, v.sigma, v.caveats
		FROM reading r JOIN reading_value v ON v.reading_id = r.id
		WHERE r.delivery_id = ANY(@balls::bigint[]) AND r.holds AND r.status = 'accepted'
		ORDER BY r.id`

	sqlBallOwner = `
		SELECT s.squad_id, coalesce(d.player_id, 0) AS player_id, d.state = 'discarded' AS discarded
		FROM delivery d JOIN net_session s ON s.id = d.session_id
		WHERE d.id = @id`
)

const noBall = "There is no such ball. Perhaps it was removed from the lane."

// SessionBalls lists a session's balls (not the discarded) with clips and what
// holds of the observations, in the order they were played. A player gets only
// their own.
func (s *Store) SessionBalls(ctx context.Context, v tagging.Viewer, sessionID int64) ([]tagging.Ball, error) {
	const op = "db.SessionBalls"
	if _, err := session(ctx, s.pool, v, sessionID); err != nil {
		return nil, trouble(op, err)
	}
	ids, err := column[int64](ctx, s.pool, sqlSessionBalls, args{"session": sessionID, "player": onlyPlayer(v)})
	if err != nil {
		return nil, trouble(op, err)
	}
	list, err := balls(ctx, s.pool, ids)
	return list, trouble(op, err)
}

// Ball returns one ball with clips and observations: to staff also a discarded
// one, to a player their own and those of reels that were shared with them.
func (s *Store) Ball(ctx context.Context, v tagging.Viewer, id int64) (tagging.Ball, error) {
	const op = "db.Ball"
	if err := ballVisible(ctx, s.pool, v, id, noBall); err != nil {
		return tagging.Ball{}, trouble(op, err)
	}
	list, err := balls(ctx, s.pool, []int64{id})
	if err == nil && len(list) == 0 {
		err = absent(noBall)
	}
	if err != nil {
		return tagging.Ball{}, trouble(op, err)
	}
	return list[0], nil
}

// ballVisible says by fault.NotFound that a ball is not the viewer's to see.
func ballVisible(ctx context.Context, q querier, v tagging.Viewer, id int64, msg string) error {
	owner, err := one[struct {
		SquadID, PlayerID int64
		Discarded         bool
	}](ctx, q, sqlBallOwner, args{"id": id})
	if errors.Is(err, pgx.ErrNoRows) || err == nil && owner.SquadID != v.SquadID {
		return absent(msg)
	}
	switch {
	case err != nil:
		return err
	case v.Role.Staff():
		return nil
	case owner.Discarded:
		return absent(msg)
	case owner.PlayerID == v.PlayerID && v.PlayerID != 0:
		return nil
	}
	shared, err := inSharedReel(ctx, q, v, id)
	if err == nil && !shared {
		err = absent(msg)
	}
	return err
}

// balls loads balls with their clips and what holds of their observations, in
// the order of ids, by four statements. Those that are gone are left out.
func balls(ctx context.Context, q querier, ids []int64) ([]tagging.Ball, error) {
	rows, err := all[ballRow](ctx, q, sqlBalls, args{"ids": ids})
	if err != nil {
		return nil, err
	}
	byID := make(map[int64]*tagging.Ball, len(rows))
	for _, r := range rows {
		b := r.ball()
		byID[b.ID] = &b
	}
	clips, err := all[clipRow](ctx, q, sqlClipsOfBalls, args{"balls": ids})
	if err != nil {
		return nil, err
	}
	for _, c := range clips {
		if b := byID[c.DeliveryID]; b != nil {
			b.Clips = append(b.Clips, c.clip())
		}
	}
	seen, err := holding(ctx, q, ids)
	if err != nil {
		return nil, err
	}
	for _, o := range seen {
		if b := byID[o.BallID]; b != nil {
			b.Seen = append(b.Seen, o)
		}
	}
	if err := addMeasured(ctx, q, ids, byID); err != nil {
		return nil, err
	}
	list := make([]tagging.Ball, 0, len(ids))
	for _, id := range ids {
		if b := byID[id]; b != nil {
			list = append(list, *b)
		}
	}
	return list, nil
}

// addMeasured puts what was measured on balls, each ball's in the order of
// measure.Measures, and the surest value of a measure first.
func addMeasured(ctx context.Context, q querier, ids []int64, byID map[int64]*tagging.Ball) error {
	rows, err := all[struct {
		DeliveryID, RecordingID int64
		Measure                 string
		Value, Sigma            float64
		Caveats                 []string
	}](ctx, q, sqlMeasured, args{"balls": ids})
	if err != nil {
		return err
	}
	for _, r := range rows {
		if b := byID[r.DeliveryID]; b != nil {
			b.Measured = append(b.Measured, tagging.Measured{
				Measure: r.Measure, RecordingID: r.RecordingID, Value: r.Value, Sigma: r.Sigma, Caveats: r.Caveats,
			})
		}
	}
	for _, b := range byID {
		slices.SortStableFunc(b.Measured, func(x, y tagging.Measured) int {
			return cmp.Or(cmp.Compare(placeOf[x.Measure], placeOf[y.Measure]), cmp.Compare(x.Sigma, y.Sigma))
		})
	}
	return nil
}
