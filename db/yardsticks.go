package db

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/reading"
)

const (
	sqlYardsticks = `SELECT yardsticks FROM player_yardsticks WHERE player_id = @player`

	sqlSetYardsticks = `
		INSERT INTO player_yardsticks (player_id, yardsticks, set_by) VALUES (@player, @yardsticks, @account)
		ON CONFLICT (player_id) DO UPDATE SET yardsticks = excluded.yardsticks, set_by = excluded.set_by, set_at = now()`

	// A player's accepted values, the oldest first.
	sqlPlayerValues = `
		SELECT v.measure, v.value, d.session_id, to_char(s.held_on, 'YYYY-MM-DD') AS held_on, s.title
		FROM reading r JOIN reading_value v ON v.reading_id = r.id JOIN delivery d ON d.id = r.delivery_id
			JOIN net_session s ON s.id = d.session_id
		WHERE d.player_id = @player AND r.holds AND r.status = 'accepted' AND d.state <> 'discarded'
		ORDER BY s.held_on, s.id, d.number`
)

func yardsticks(ctx context.Context, q querier, player int64) (reading.Yardsticks, error) {
	rows, err := column[reading.Yardsticks](ctx, q, sqlYardsticks, args{"player": player})
	if err != nil || len(rows) == 0 {
		return reading.Yardsticks{}, err
	}
	return rows[0], nil
}

// playerFor returns a player of the squad, to staff and to themselves.
func playerFor(ctx context.Context, q querier, v tagging.Viewer, id int64) (tagging.Player, error) {
	if !v.Role.Staff() && v.PlayerID != id {
		return tagging.Player{}, absent(noPlayer)
	}
	p, err := one[tagging.Player](ctx, q, sqlPlayer, args{"squad": v.SquadID, "id": id})
	if errors.Is(err, pgx.ErrNoRows) {
		err = absent(noPlayer)
	}
	return p, err
}

// PlayerMeasures says what is usual for a player: each measure over all their
// sessions, and the latest session against those before it. To staff, and to
// the player.
func (s *Store) PlayerMeasures(ctx context.Context, v tagging.Viewer, player int64) (reading.History, error) {
	const op = "db.PlayerMeasures"
	if _, err := playerFor(ctx, s.pool, v, player); err != nil {
		return reading.History{}, trouble(op, err)
	}
	values, err := all[reading.PlayerValue](ctx, s.pool, sqlPlayerValues, args{"player": player})
	if err != nil {
		return reading.History{}, trouble(op, err)
	}
	h := reading.HistoryOf(values)
	if v.Role.Staff() {
		h.Yardsticks, err = yardsticks(ctx, s.pool, player)
	}
	return h, trouble(op, err)
}

// SetYardsticks keeps a coach's limits for a player.
func (s *Store) SetYardsticks(ctx context.Context, v tagging.Viewer, player int64, y reading.Yardsticks) error {
	return s.inTx(ctx, "db.SetYardsticks", func(tx pgx.Tx) error {
		if v.Role != tagging.Coach {
			return fault.New(fault.Forbidden, "", "A player’s yardsticks are a coach's to set.")
		}
		if _, err := playerFor(ctx, tx, v, player); err != nil {
			return err
		}
		if err := y.Validate(); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, sqlSetYardsticks, args{"player": player, "yardsticks": y, "account": v.AccountID}); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "people", ID: player})
	})
}
