package db

import (
	"context"

	"github.com/jackc/pgx/v5"
)

// sqlSettle numbers a session's balls in the order they were played, and says
// whose each is and in which block: that in which its moment lies
// (tagging.Moment: the contact, else the middle).
const sqlSettle = `
	WITH alone AS (
		SELECT CASE WHEN count(*) = 1 THEN min(player_id) END AS id FROM net_session_player WHERE session_id = @session
	), settled AS (
		SELECT d.id, b.id AS block_id, coalesce(d.batter_id, b.player_id, alone.id) AS player_id,
			CASE WHEN d.state <> 'discarded' THEN
				row_number() OVER (PARTITION BY d.state = 'discarded' ORDER BY d.start_us, d.id)
			END AS number
		FROM delivery d CROSS JOIN alone LEFT JOIN block b ON b.session_id = d.session_id
			AND coalesce(d.contact_us, d.start_us + (d.end_us - d.start_us) / 2) >= b.start_us
			AND coalesce(d.contact_us, d.start_us + (d.end_us - d.start_us) / 2) < b.end_us
		WHERE d.session_id = @session
	)
	UPDATE delivery d SET number = t.number, block_id = t.block_id, player_id = t.player_id
	FROM settled t
	WHERE d.id = t.id AND (d.number, d.block_id, d.player_id) IS DISTINCT FROM (t.number, t.block_id, t.player_id)`

// settle brings what is derived on a session's balls up to date. It belongs
// into every transaction that changes balls, blocks or players.
func settle(ctx context.Context, tx pgx.Tx, session int64) error {
	_, err := tx.Exec(ctx, sqlSettle, args{"session": session})
	return err
}
