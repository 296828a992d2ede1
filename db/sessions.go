package db

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/tagging"
)

// maxFocus is how many groups a coding page walks through: one digit each.
const maxFocus = 9

// sessionQuery counts a session's balls; @player 0 counts everybody's. It
// wants a condition.
const sessionQuery = `
	SELECT s.id, s.title, to_char(s.held_on, 'YYYY-MM-DD') AS held_on, s.place, s.note, s.focus,
		(SELECT count(*) FROM recording r WHERE r.session_id = s.id) AS recordings,
		coalesce(n.balls, 0) AS balls, coalesce(n.coded, 0) AS coded
	FROM net_session s LEFT JOIN (
		SELECT d.session_id, count(*) AS balls,
			count(*) FILTER (WHERE d.codes <> '{}') AS coded
		FROM delivery d
		WHERE d.state <> 'discarded' AND (@player::bigint = 0 OR d.player_id = @player)
		GROUP BY d.session_id
	) n ON n.session_id = s.id
	WHERE s.squad_id = @squad AND (@player = 0 OR n.balls > 0)`

const (
	sqlSessions = sessionQuery + ` ORDER BY s.held_on DESC, s.id DESC`
	sqlSession  = sessionQuery + ` AND s.id = @id`

	sqlSessionPlayers = `
		SELECT i.session_id,` + playerColumns + `
		FROM net_session_player i JOIN player p ON p.id = i.player_id
		WHERE i.session_id = ANY(@sessions::bigint[]) AND (@player::bigint = 0 OR p.id = @player)
		ORDER BY i.session_id, i.position`

	sqlAddSession = `
		INSERT INTO net_session (squad_id, title, held_on, place, note, focus)
		VALUES (@squad, @title, @held_on::text::date, @place, @note, @focus)
		RETURNING id`

	sqlChangeSession = `
		UPDATE net_session SET title = @title, held_on = @held_on::text::date, place = @place, note = @note, focus = @focus
		WHERE id = @id`

	sqlDropSessionPlayers = `DELETE FROM net_session_player WHERE session_id = @session`

	sqlAddSessionPlayers = `
		INSERT INTO net_session_player (session_id, player_id, position)
		SELECT @session, player, position FROM unnest(@players::bigint[]) WITH ORDINALITY AS list (player, position)`

	// Everything that changes the lane takes this first, so that two who change it take turns.
	sqlLockSession = `SELECT id FROM net_session WHERE id = @id AND squad_id = @squad FOR NO KEY UPDATE`

	sqlDeleteSession = `DELETE FROM net_session WHERE id = @id`

	sqlRecordingsOf = `SELECT id FROM recording WHERE session_id = @session ORDER BY id`
)

const noSession = "There is no such session. Perhaps it was deleted."

type sessionRow struct {
	ID                         int64
	Title, HeldOn, Place, Note string
	Focus                      []string
	Recordings, Balls, Coded   int
}

// onlyPlayer is whose balls a viewer is confined to: 0 for staff. An account of
// no known role or player is confined to nobody's.
func onlyPlayer(v tagging.Viewer) int64 {
	switch {
	case v.Role.Staff():
		return 0
	case v.PlayerID > 0:
		return v.PlayerID
	}
	return -1
}

// Sessions lists the sessions, newest first. A player sees those with balls
// of theirs, without the note, and only those are counted.
func (s *Store) Sessions(ctx context.Context, v tagging.Viewer) ([]tagging.Session, error) {
	const op = "db.Sessions"
	list, err := sessions(ctx, s.pool, v, sqlSessions, args{"squad": v.SquadID, "player": onlyPlayer(v)})
	return list, trouble(op, err)
}

// Session returns one session.
func (s *Store) Session(ctx context.Context, v tagging.Viewer, id int64) (tagging.Session, error) {
	got, err := session(ctx, s.pool, v, id)
	return got, trouble("db.Session", err)
}

func session(ctx context.Context, q querier, v tagging.Viewer, id int64) (tagging.Session, error) {
	list, err := sessions(ctx, q, v, sqlSession, args{"squad": v.SquadID, "player": onlyPlayer(v), "id": id})
	if err != nil {
		return tagging.Session{}, err
	}
	if len(list) == 0 {
		return tagging.Session{}, absent(noSession)
	}
	return list[0], nil
}

func sessions(ctx context.Context, q querier, v tagging.Viewer, sql string, a args) ([]tagging.Session, error) {
	rows, err := all[sessionRow](ctx, q, sql, a)
	if err != nil {
		return nil, err
	}
	list, ids, at := make([]tagging.Session, len(rows)), make([]int64, len(rows)), map[int64]int{}
	for i, r := range rows {
		list[i] = tagging.Session{
			ID: r.ID, Title: r.Title, HeldOn: r.HeldOn, Place: r.Place, Note: r.Note, Focus: r.Focus,
			Recordings: r.Recordings, Balls: r.Balls, Coded: r.Coded,
		}
		if !v.Role.Staff() {
			list[i].Note = "" // it may speak of the others who batted, and of what a plan keeps from the batter
		}
		ids[i], at[r.ID] = r.ID, i
	}
	type member struct {
		SessionID int64
		tagging.Player
	}
	members, err := all[member](ctx, q, sqlSessionPlayers, args{"sessions": ids, "player": onlyPlayer(v)})
	if err != nil {
		return nil, err
	}
	for _, m := range members {
		if !v.Role.Staff() {
			m.Player.Note = ""
		}
		into := &list[at[m.SessionID]]
		into.Players = append(into.Players, m.Player)
	}
	return list, nil
}

// AddSession adds a session. Without a focus it walks through the usual
// groups.
func (s *Store) AddSession(ctx context.Context, v tagging.Viewer, in tagging.SessionInput) (tagging.Session, error) {
	return s.saveSession(ctx, "db.AddSession", v, 0, in)
}

// ChangeSession changes all of a session's fields and its players.
func (s *Store) ChangeSession(ctx context.Context, v tagging.Viewer, id int64, in tagging.SessionInput) (tagging.Session, error) {
	return s.saveSession(ctx, "db.ChangeSession", v, id, in)
}

func (s *Store) saveSession(ctx context.Context, op string, v tagging.Viewer, id int64, in tagging.SessionInput) (saved tagging.Session, err error) {
	err = s.inTx(ctx, op, func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		if in, err = checkSession(ctx, tx, v, in); err != nil {
			return err
		}
		sid, err := writeSession(ctx, tx, v, id, in)
		if err != nil {
			return err
		}
		if saved, err = session(ctx, tx, v, sid); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "session", ID: sid, Session: sid})
	})
	return saved, err
}

// writeSession keeps a checked session; 0 adds one.
func writeSession(ctx context.Context, tx pgx.Tx, v tagging.Viewer, id int64, in tagging.SessionInput) (int64, error) {
	a := args{
		"title": in.Title, "held_on": in.HeldOn, "place": in.Place, "note": in.Note, "focus": in.Focus,
	}
	var err error
	if id == 0 {
		a["squad"] = v.SquadID
		id, err = value[int64](ctx, tx, sqlAddSession, a)
	} else if err = lockSession(ctx, tx, v, id); err == nil {
		a["id"] = id
		_, err = tx.Exec(ctx, sqlChangeSession, a)
	}
	if err != nil {
		return 0, err
	}
	if _, err := tx.Exec(ctx, sqlDropSessionPlayers, args{"session": id}); err != nil {
		return 0, err
	}
	if _, err := tx.Exec(ctx, sqlAddSessionPlayers, args{"session": id, "players": in.Players}); err != nil {
		return 0, err
	}
	return id, settle(ctx, tx, id)
}

func checkSession(ctx context.Context, tx pgx.Tx, v tagging.Viewer, in tagging.SessionInput) (tagging.SessionInput, error) {
	var f form
	in.Title, in.Place = f.words("title", in.Title, 1, maxTitleLen), f.words("place", in.Place, 0, maxTitleLen)
	in.Note = f.words("note", in.Note, 0, maxTextLen)
	if day, err := time.Parse(time.DateOnly, in.HeldOn); err != nil || day.Year() < 1800 {
		f.bad("held_on", "must be a date such as 2026-01-31")
	}
	e, err := edition(ctx, tx, sqlCurrentEdition, args{"squad": v.SquadID})
	if err != nil {
		return in, err
	}
	offered := func(key string) bool { g, ok := e.Group(key); return ok && !g.Retired }
	if len(in.Focus) == 0 {
		in.Focus = []string{}
		for _, key := range tagging.DefaultFocus() {
			if offered(key) {
				in.Focus = append(in.Focus, key)
			}
		}
	}
	if len(in.Focus) > maxFocus {
		f.bad("focus", fmt.Sprintf("can be %d groups at most", maxFocus))
	}
	for i, key := range in.Focus {
		if !offered(key) || slices.Contains(in.Focus[:i], key) {
			f.bad("focus", "must be groups of the vocabulary, each once")
			break
		}
	}
	if err := f.err(); err != nil {
		return in, err
	}
	return in, playersThere(ctx, tx, v.SquadID, in.Players)
}

// DeleteSession removes a session with everything in it, and stops the work
// on its recordings.
func (s *Store) DeleteSession(ctx context.Context, v tagging.Viewer, id int64) error {
	return s.inTx(ctx, "db.DeleteSession", func(tx pgx.Tx) error {
		if err := coachOnly(v); err != nil {
			return err
		}
		if err := lockSession(ctx, tx, v, id); err != nil {
			return err
		}
		recordings, err := column[int64](ctx, tx, sqlRecordingsOf, args{"session": id})
		if err != nil {
			return err
		}
		if err := s.cancelWork(ctx, tx, recordings); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, sqlDeleteSession, args{"id": id}); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "session", ID: id, Session: id})
	})
}

// lockSession takes a session of the viewer's squad for a change.
func lockSession(ctx context.Context, tx pgx.Tx, v tagging.Viewer, id int64) error {
	_, err := value[int64](ctx, tx, sqlLockSession, args{"id": id, "squad": v.SquadID})
	if errors.Is(err, pgx.ErrNoRows) {
		return absent(noSession)
	}
	return err
}

// staffRead hides from players what only staff look at.
func staffRead(v tagging.Viewer, msg string) error {
	if v.Role.Staff() {
		return nil
	}
	return fault.New(fault.NotFound, "", msg)
}
