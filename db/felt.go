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
			coalesce(f.delivery_id, 0) AS ball, coalesce(f.block_id, 0) AS block, f.words, a.name AS by, f.said_at AS said,
			false AS at_net
		FROM felt f JOIN account a ON a.id = f.account_id
			LEFT JOIN delivery d ON d.id = f.delivery_id
			LEFT JOIN block b ON b.id = f.block_id
			JOIN net_session s ON s.id = coalesce(d.session_id, b.session_id)
		WHERE (f.delivery_id = ANY(@balls::bigint[]) OR f.block_id = ANY(@blocks::bigint[]))
			AND s.squad_id = @squad AND (@player::bigint = 0 OR d.player_id = @player OR EXISTS (
				SELECT FROM delivery own WHERE own.block_id = f.block_id AND own.player_id = @player AND own.state <> 'discarded'))
		ORDER BY f.delivery_id, f.block_id, f.id DESC`

	// Balls of sessions in which a player's word was pressed at the net.
	sqlPressedOf = `
		SELECT d.id, d.session_id FROM delivery d JOIN net_session s ON s.id = d.session_id
		WHERE d.id = ANY(@balls::bigint[]) AND s.squad_id = @squad AND (@player::bigint = 0 OR d.player_id = @player)
			AND EXISTS (SELECT FROM net_mark m WHERE m.session_id = s.id AND m.kind = 'word')
		ORDER BY d.session_id, d.id`
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

// Felt is what was last said of how balls and blocks felt, with what was
// pressed at the net; to a player of their own ones.
func (s *Store) Felt(ctx context.Context, v tagging.Viewer, balls, blocks []int64) (list []lookback.Felt, err error) {
	// One transaction, so that the marks lie on the balls that were asked for.
	err = s.inTx(ctx, "db.Felt", func(tx pgx.Tx) error {
		list, err = all[lookback.Felt](ctx, tx, sqlFeltOf, args{
			"squad": v.SquadID, "player": onlyPlayer(v), "balls": balls, "blocks": blocks,
		})
		if err != nil {
			return err
		}
		pressed, err := all[struct{ ID, SessionID int64 }](ctx, tx, sqlPressedOf, args{"squad": v.SquadID, "player": onlyPlayer(v), "balls": balls})
		if err != nil {
			return err
		}
		of := map[int64][]int64{}
		for _, b := range pressed {
			of[b.SessionID] = append(of[b.SessionID], b.ID)
		}
		for session, theirs := range of {
			n, err := netOf(ctx, tx, session)
			if err != nil {
				return err
			}
			list = lookback.WithPressed(list, n.Marks, theirs)
		}
		return nil
	})
	return list, err
}
