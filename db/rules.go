package db

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/lookback"
)

const (
	sqlRules = `
		SELECT coalesce(r.rules, '[]'::jsonb) AS rules, coalesce(r.revision, 0) AS revision
		FROM player p LEFT JOIN player_rules r ON r.player_id = p.id
		WHERE p.id = @player AND p.squad_id = @squad`

	// Takes the player's row, so that two who save take turns.
	sqlLockPlayer = `SELECT id FROM player WHERE id = @player AND squad_id = @squad FOR NO KEY UPDATE`

	sqlSaveRules = `
		INSERT INTO player_rules (player_id, rules, made_by) VALUES (@player, @rules, @maker)
		ON CONFLICT (player_id) DO UPDATE
		SET rules = @rules, made_by = @maker, made_at = now(), revision = player_rules.revision + 1`
)

const noPlayer = "There is no such player."

// Rules returns the coach's rules for a player and their revision; 0 before
// there are any.
func (s *Store) Rules(ctx context.Context, v tagging.Viewer, player int64) (lookback.Rules, int, error) {
	const op = "db.Rules"
	if err := staffOnly(v); err != nil {
		return nil, 0, trouble(op, err)
	}
	list, revision, err := rules(ctx, s.pool, v, player)
	return list, revision, trouble(op, err)
}

func rules(ctx context.Context, q querier, v tagging.Viewer, player int64) (lookback.Rules, int, error) {
	row, err := one[struct {
		Rules    lookback.Rules
		Revision int
	}](ctx, q, sqlRules, args{"player": player, "squad": v.SquadID})
	if errors.Is(err, pgx.ErrNoRows) {
		err = absent(noPlayer)
	}
	return row.Rules, row.Revision, err
}

// SaveRules replaces the coach's rules for a player. revision is the one that
// the page knew; a newer one is fault.Conflict.
func (s *Store) SaveRules(ctx context.Context, v tagging.Viewer, player int64, in lookback.Rules, revision int) (now int, err error) {
	err = s.inTx(ctx, "db.SaveRules", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		if _, err := value[int64](ctx, tx, sqlLockPlayer, args{"player": player, "squad": v.SquadID}); err != nil {
			if errors.Is(err, pgx.ErrNoRows) {
				return absent(noPlayer)
			}
			return err
		}
		e, err := edition(ctx, tx, sqlCurrentEdition, args{"squad": v.SquadID})
		if err != nil {
			return err
		}
		if err := in.Validate(e); err != nil {
			return err
		}
		_, kept, err := rules(ctx, tx, v, player)
		if err != nil {
			return err
		}
		if kept != revision {
			return fault.New(fault.Conflict, "", "Somebody else changed the rules meanwhile. Reload them and make your changes again.")
		}
		if in == nil {
			in = lookback.Rules{}
		}
		if _, err := tx.Exec(ctx, sqlSaveRules, args{"player": player, "rules": in, "maker": v.AccountID}); err != nil {
			return err
		}
		now = kept + 1
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "rules", ID: player})
	})
	return now, err
}
