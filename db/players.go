package db

import (
	"context"

	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/tagging"
)

const playerColumns = `
	p.id, p.name, p.bats, coalesce(p.height_cm, 0) AS height_cm, p.note, p.retired_at IS NOT NULL AS retired`

const (
	sqlPlayers = `SELECT` + playerColumns + `
		FROM player p WHERE p.squad_id = @squad
		ORDER BY p.retired_at IS NOT NULL, lower(p.name), p.id`

	sqlPlayer = `SELECT` + playerColumns + `
		FROM player p WHERE p.squad_id = @squad AND p.id = @id`

	sqlAddPlayer = `
		INSERT INTO player (squad_id, name, bats, height_cm, note, retired_at)
		VALUES (@squad, @name, @bats, nullif(@height::double precision, 0), @note, CASE WHEN @retired THEN now() END)
		RETURNING id`

	sqlChangePlayer = `
		UPDATE player SET name = @name, bats = @bats, height_cm = nullif(@height::double precision, 0), note = @note,
			retired_at = CASE WHEN @retired THEN coalesce(retired_at, now()) END
		WHERE id = @id AND squad_id = @squad`
)

// Players lists the squad's players, retired ones last; a player sees only
// themselves.
func (s *Store) Players(ctx context.Context, v tagging.Viewer) ([]tagging.Player, error) {
	const op = "db.Players"
	sql, a := sqlPlayers, args{"squad": v.SquadID}
	if !v.Role.Staff() {
		sql, a = sqlPlayer, args{"squad": v.SquadID, "id": v.PlayerID}
	}
	list, err := all[tagging.Player](ctx, s.pool, sql, a)
	return forViewer(v, list), trouble(op, err)
}

// forViewer takes out what only staff may read of players.
func forViewer(v tagging.Viewer, players []tagging.Player) []tagging.Player {
	if !v.Role.Staff() {
		for i := range players {
			players[i].Note = ""
		}
	}
	return players
}

// AddPlayer adds a player; a name that is there already is fault.Conflict.
func (s *Store) AddPlayer(ctx context.Context, v tagging.Viewer, p tagging.Player) (tagging.Player, error) {
	p.ID = 0
	return s.savePlayer(ctx, "db.AddPlayer", v, p)
}

// ChangePlayer changes all of a player's fields.
func (s *Store) ChangePlayer(ctx context.Context, v tagging.Viewer, p tagging.Player) (tagging.Player, error) {
	if p.ID == 0 {
		return tagging.Player{}, fault.At("db.ChangePlayer", absent("There is no such player."))
	}
	return s.savePlayer(ctx, "db.ChangePlayer", v, p)
}

func (s *Store) savePlayer(ctx context.Context, op string, v tagging.Viewer, p tagging.Player) (saved tagging.Player, err error) {
	err = s.inTx(ctx, op, func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		var f form
		p.Name, p.Note = f.words("name", p.Name, 1, maxNameLen), f.words("note", p.Note, 0, maxTextLen)
		if p.Bats != tagging.Right && p.Bats != tagging.Left {
			f.bad("bats", "must be right or left")
		}
		if p.HeightCM != 0 && !(p.HeightCM >= 80 && p.HeightCM <= 230) { // NaN fails both
			f.bad("height_cm", "must be 80 to 230")
		}
		if err := f.err(); err != nil {
			return err
		}
		a := args{
			"squad": v.SquadID, "name": p.Name, "bats": p.Bats, "height": p.HeightCM, "note": p.Note, "retired": p.Retired,
		}
		id := p.ID
		if id == 0 {
			id, err = value[int64](ctx, tx, sqlAddPlayer, a)
		} else {
			a["id"] = id
			_, err = tx.Exec(ctx, sqlChangePlayer, a)
		}
		if err != nil {
			return err
		}
		if saved, err = one[tagging.Player](ctx, tx, sqlPlayer, args{"squad": v.SquadID, "id": id}); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "people", ID: id})
	})
	return saved, err
}
