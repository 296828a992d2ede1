package db

import (
	"context"
	"errors"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/lookback"
)

const (
	// A block is there for a player who batted in it. The session is shared: no new split takes the ball away meanwhile.
	sqlFeltBlock = `
		SELECT b.session_id FROM block b JOIN net_session s ON s.id = b.session_id
		WHERE b.id = @block AND s.squad_id = @squad AND (@player::bigint = 0 OR EXISTS (
			SELECT FROM delivery d WHERE d.block_id = b.id AND d.player_id = @player AND d.state <> 'discarded'))
		FOR SHARE OF s`

	sqlFeltBall = `
		SELECT s.id FROM delivery d JOIN net_session s ON s.id = d.session_id
		WHERE d.id = @ball AND s.squad_id = @squad AND d.state <> 'discarded' AND (@player::bigint = 0 OR d.player_id = @player)
		FOR SHARE OF s`

	sqlSayFelt = `
		INSERT INTO felt (uuid, delivery_id, block_id, account_id, words)
		VALUES (@uuid, nullif(@ball::bigint, 0), nullif(@block::bigint, 0), @account, @words)
		ON CONFLICT (uuid) DO NOTHING`

	sqlFeltOf = `
		SELECT DISTINCT ON (f.delivery_id, f.block_id)
			coalesce(f.delivery_id, 0) AS ball, coalesce(f.block_id, 0) AS block, f.words
		FROM felt f
			LEFT JOIN delivery d ON d.id = f.delivery_id
			LEFT JOIN block b ON b.id = f.block_id
			JOIN net_session s ON s.id = coalesce(d.session_id, b.session_id)
		WHERE (f.delivery_id = ANY(@balls::bigint[]) OR f.block_id = ANY(@blocks::bigint[]))
			AND s.squad_id = @squad AND (@player::bigint = 0 OR d.player_id = @player OR EXISTS (
				SELECT FROM delivery own WHERE own.block_id = f.block_id AND own.player_id = @player AND own.state <> 'discarded'))
		ORDER BY f.delivery_id, f.block_id, f.id DESC`
)

// SayFelt adds how a ball or a block felt: to a player their own, to staff
// what a player told them. Said again with the same UUID it changes nothing.
func (s *Store) SayFelt(ctx context.Context, v tagging.Viewer, id uuid.UUID, f lookback.Felt) error {
	return s.inTx(ctx, "db.SayFelt", func(tx pgx.Tx) error {
		if err := f.Validate(); err != nil {
			return err
		}
		if id == uuid.Nil {
			return fault.New(fault.Invalid, "", "That could not be saved.", fault.Field{Name: "uuid", Reason: "is missing"})
		}
		sql, a := sqlFeltBall, args{"squad": v.SquadID, "player": onlyPlayer(v), "ball": f.Ball}
		if f.Ball == 0 {
			sql = sqlFeltBlock
			delete(a, "ball")
			a["block"] = f.Block
		}
		session, err := value[int64](ctx, tx, sql, a)
		if errors.Is(err, pgx.ErrNoRows) {
			return absent("There is no such ball or block, or it is not yours to speak of.")
		}
		if err != nil {
			return err
		}
		words := append([]string{}, f.Words...)
		if _, err := tx.Exec(ctx, sqlSayFelt, args{
			"uuid": id, "ball": f.Ball, "block": f.Block, "account": v.AccountID, "words": words,
		}); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "felt", ID: f.Ball, Session: session})
	})
}

// Felt is what was last said of how balls and blocks felt; to a player of
// their own ones.
func (s *Store) Felt(ctx context.Context, v tagging.Viewer, balls, blocks []int64) ([]lookback.Felt, error) {
	list, err := all[lookback.Felt](ctx, s.pool, sqlFeltOf, args{
		"squad": v.SquadID, "player": onlyPlayer(v), "balls": balls, "blocks": blocks,
	})
	return list, trouble("db.Felt", err)
}
