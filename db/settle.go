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

// knownQuery says what is known of balls: the terms that were seen on them,
// and of what nobody spoke of what their block gives. It wants a condition.
const knownQuery = `
	UPDATE delivery d SET known = k.known
	FROM (
		SELECT d.id, d.codes || ARRAY(
			SELECT given.group_key || '=' || given.term_key
			FROM (VALUES ('bat', b.bat), ('bowling', b.bowling), ('feed', b.feed)) AS given (group_key, term_key)
			WHERE given.term_key IS NOT NULL
			  AND NOT EXISTS (SELECT FROM unnest(d.codes) AS code WHERE starts_with(code, given.group_key || '='))
		) AS known
		FROM delivery d LEFT JOIN block b ON b.id = d.block_id
	) k
	WHERE k.id = d.id AND d.known IS DISTINCT FROM k.known`

const (
	sqlSettleKnown        = knownQuery + ` AND d.session_id = @session`
	sqlSettleKnownOfBalls = knownQuery + ` AND d.id = ANY(@balls::bigint[])`
)

// settle brings what is derived on a session's balls up to date. It belongs
// into every transaction that changes balls, blocks or players.
func settle(ctx context.Context, tx pgx.Tx, session int64) error {
	for _, sql := range []string{sqlSettle, sqlSettleKnown} {
		if _, err := tx.Exec(ctx, sql, args{"session": session}); err != nil {
			return err
		}
	}
	return nil
}
