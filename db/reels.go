package db

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/find"
)

// maxReel is how many balls a reel holds. A question that finds more gives the
// first of them.
const maxReel = 1000

const reelQuery = `
	SELECT r.id, r.title, r.note, r.question, a.name AS made_by, r.revision, r.updated_at AS updated
	FROM reel r JOIN account a ON a.id = r.made_by
	WHERE r.squad_id = @squad AND (@player::bigint = 0
		OR EXISTS (SELECT FROM reel_player i WHERE i.reel_id = r.id AND i.player_id = @player))`

const (
	sqlReels = reelQuery + ` ORDER BY r.updated_at DESC, r.id DESC`
	sqlReel  = reelQuery + ` AND r.id = @id`

	sqlReelPlayers = `
		SELECT i.reel_id, i.player_id FROM reel_player i JOIN player p ON p.id = i.player_id
		WHERE i.reel_id = ANY(@reels::bigint[]) AND (@player::bigint = 0 OR i.player_id = @player)
		ORDER BY i.reel_id, lower(p.name), p.id`

	// A ball that was discarded drops out, and is back when it is restored.
	sqlReelBalls = `
		SELECT b.reel_id, b.delivery_id AS ball_id, b.title, b.note
		FROM reel_ball b JOIN delivery d ON d.id = b.delivery_id
		WHERE b.reel_id = ANY(@reels::bigint[]) AND d.state <> 'discarded'
		ORDER BY b.reel_id, b.position, b.delivery_id`

	sqlAddReel = `
		INSERT INTO reel (squad_id, title, note, question, made_by)
		VALUES (@squad, @title, @note, @question, @maker) RETURNING id`

	sqlLockReel = `SELECT revision FROM reel WHERE id = @id AND squad_id = @squad FOR NO KEY UPDATE`

	sqlChangeReel = `
		UPDATE reel SET title = @title, note = @note, question = @question, revision = revision + 1, updated_at = now()
		WHERE id = @id`

	sqlDropReelBalls   = `DELETE FROM reel_ball WHERE reel_id = @reel`
	sqlDropReelPlayers = `DELETE FROM reel_player WHERE reel_id = @reel`

	sqlAddReelBalls = `
		INSERT INTO reel_ball (reel_id, delivery_id, position, title, note)
		SELECT @reel, n.ball, CASE WHEN @picked THEN n.place END, n.title, n.note
		FROM unnest(@balls::bigint[], @titles::text[], @notes::text[]) WITH ORDINALITY AS n (ball, title, note, place)`

	sqlAddReelPlayers = `
		INSERT INTO reel_player (reel_id, player_id) SELECT @reel, player FROM unnest(@players::bigint[]) AS player`

	// Not while a new split takes away what nobody keeps.
	sqlBallsOfSquad = `
		SELECT d.id FROM delivery d JOIN net_session s ON s.id = d.session_id
		WHERE s.squad_id = @squad AND d.id = ANY(@balls::bigint[])
		ORDER BY d.id FOR KEY SHARE OF d`

	sqlDeleteReel = `DELETE FROM reel WHERE id = @id`

	sqlFilmsUnderWay = `SELECT id FROM export WHERE reel_id = @reel AND state IN ('waiting', 'working')`

	sqlSharedQuestions = `
		SELECT r.question FROM reel r JOIN reel_player i ON i.reel_id = r.id
		WHERE r.squad_id = @squad AND i.player_id = @player AND r.question IS NOT NULL
		ORDER BY r.id`

	sqlPickedForPlayer = `
		SELECT EXISTS (SELECT FROM reel_ball b JOIN reel r ON r.id = b.reel_id JOIN reel_player i ON i.reel_id = r.id
			WHERE b.delivery_id = @ball AND r.question IS NULL AND r.squad_id = @squad AND i.player_id = @player)`
)

const (
	fragReelCount = `SELECT %s::bigint AS id, count(*) AS n%s`
	fragBallIn    = `SELECT EXISTS (SELECT%s)`
)

const noReel = "There is no such reel. Perhaps it was deleted."

type reelRow struct {
	ID          int64
	Title, Note string
	Question    *string
	MadeBy      string
	Revision    int
	Updated     time.Time
}

// Reels lists the reels, last changed first. A player gets those that are
// shared with them.
func (s *Store) Reels(ctx context.Context, v tagging.Viewer) ([]tagging.Reel, error) {
	list, err := reels(ctx, s.pool, v, sqlReels, args{"squad": v.SquadID, "player": onlyPlayer(v)})
	return list, trouble("db.Reels", err)
}

// Reel returns one reel.
func (s *Store) Reel(ctx context.Context, v tagging.Viewer, id int64) (tagging.Reel, error) {
	r, err := reel(ctx, s.pool, v, id)
	return r, trouble("db.Reel", err)
}

func reel(ctx context.Context, q querier, v tagging.Viewer, id int64) (tagging.Reel, error) {
	list, err := reels(ctx, q, v, sqlReel, args{"squad": v.SquadID, "player": onlyPlayer(v), "id": id})
	if err == nil && len(list) == 0 {
		err = absent(noReel)
	}
	if err != nil {
		return tagging.Reel{}, err
	}
	return list[0], nil
}

// reels loads reels with players, balls and counts by four statements.
func reels(ctx context.Context, q querier, v tagging.Viewer, sql string, a args) ([]tagging.Reel, error) {
	rows, err := all[reelRow](ctx, q, sql, a)
	if err != nil {
		return nil, err
	}
	list, ids, at := make([]tagging.Reel, len(rows)), make([]int64, len(rows)), map[int64]int{}
	for i, r := range rows {
		list[i] = tagging.Reel{
			ID: r.ID, Title: r.Title, Note: r.Note, Question: r.Question, MadeBy: r.MadeBy, Revision: r.Revision, Updated: r.Updated,
		}
		ids[i], at[r.ID] = r.ID, i
	}
	players, err := all[struct{ ReelID, PlayerID int64 }](ctx, q, sqlReelPlayers, args{"reels": ids, "player": onlyPlayer(v)})
	if err != nil {
		return nil, err
	}
	for _, p := range players {
		into := &list[at[p.ReelID]]
		into.Players = append(into.Players, p.PlayerID)
	}
	inReels, err := all[struct {
		ReelID int64
		tagging.ReelBall
	}](ctx, q, sqlReelBalls, args{"reels": ids})
	if err != nil {
		return nil, err
	}
	for _, b := range inReels {
		into := &list[at[b.ReelID]]
		into.Balls = append(into.Balls, b.ReelBall)
	}
	for i := range list {
		list[i].Count = len(list[i].Balls)
	}
	return list, countFound(ctx, q, v.SquadID, list)
}

// countFound counts the balls of reels from questions, all by one statement.
func countFound(ctx context.Context, q querier, squad int64, list []tagging.Reel) error {
	asking := newAsker(squad, 0) // a reel is the squad's, whoever looks at it
	var parts []string
	at := map[int64]int{}
	for i, r := range list {
		if r.Question == nil {
			continue
		}
		question, err := find.Parse(*r.Question)
		if err != nil {
			return err
		}
		from, _ := asking.found(question)
		parts = append(parts, fmt.Sprintf(fragReelCount, asking.bind(r.ID), from))
		at[r.ID] = i
	}
	if len(parts) == 0 {
		return nil
	}
	type count struct {
		ID int64
		N  int
	}
	counted, err := ask(ctx, q, strings.Join(parts, " UNION ALL "), asking.args, pgx.RowToStructByName[count])
	for _, c := range counted {
		list[at[c.ID]].Count = min(c.N, maxReel)
	}
	return err
}

// AddReel makes a reel from a question or from balls in an order.
func (s *Store) AddReel(ctx context.Context, v tagging.Viewer, in tagging.ReelInput) (tagging.Reel, error) {
	return s.saveReel(ctx, "db.AddReel", v, 0, in)
}

// ChangeReel changes all of a reel, if in.Revision is still its revision.
func (s *Store) ChangeReel(ctx context.Context, v tagging.Viewer, id int64, in tagging.ReelInput) (tagging.Reel, error) {
	return s.saveReel(ctx, "db.ChangeReel", v, id, in)
}

func (s *Store) saveReel(ctx context.Context, op string, v tagging.Viewer, id int64, in tagging.ReelInput) (saved tagging.Reel, err error) {
	err = s.inTx(ctx, op, func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		in, err := checkReel(ctx, tx, v, in)
		if err != nil {
			return err
		}
		a := args{"title": in.Title, "note": in.Note, "question": in.Question}
		rid := id
		if rid == 0 {
			a["squad"], a["maker"] = v.SquadID, v.AccountID
			rid, err = value[int64](ctx, tx, sqlAddReel, a)
		} else if err = lockReel(ctx, tx, v, rid, in.Revision); err == nil {
			a["id"] = rid
			_, err = tx.Exec(ctx, sqlChangeReel, a)
		}
		if err != nil {
			return err
		}
		if err := saveReelParts(ctx, tx, rid, in); err != nil {
			return err
		}
		if saved, err = reel(ctx, tx, v, rid); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "reel", ID: rid})
	})
	return saved, err
}

// lockReel takes a reel for a change; revision 0 takes any.
func lockReel(ctx context.Context, tx pgx.Tx, v tagging.Viewer, id int64, revision int) error {
	now, err := value[int](ctx, tx, sqlLockReel, args{"id": id, "squad": v.SquadID})
	if errors.Is(err, pgx.ErrNoRows) {
		return absent(noReel)
	}
	if err == nil && revision != 0 && now != revision {
		return fault.New(fault.Conflict, "", "Somebody else changed this reel meanwhile. Reload it and make your changes again.")
	}
	return err
}

func checkReel(ctx context.Context, tx pgx.Tx, v tagging.Viewer, in tagging.ReelInput) (tagging.ReelInput, error) {
	var f form
	in.Title, in.Note = f.words("title", in.Title, 1, maxTitleLen), f.words("note", in.Note, 0, maxTextLen)
	if len(in.Balls) > maxReel {
		f.bad("balls", fmt.Sprintf("can be %d at most", maxReel))
	}
	balls, seen := make([]tagging.ReelBall, 0, len(in.Balls)), map[int64]bool{}
	ids := []int64{}
	for i, b := range in.Balls {
		at := fmt.Sprintf("balls.%d.", i)
		b.Title, b.Note = f.words(at+"title", b.Title, 0, maxTitleLen), f.words(at+"note", b.Note, 0, maxTextLen)
		if seen[b.BallID] {
			f.bad(at+"ball_id", "is in the reel twice")
		}
		seen[b.BallID] = true
		if in.Question == nil || b.Title != "" || b.Note != "" {
			balls, ids = append(balls, b), append(ids, b.BallID)
		}
	}
	in.Balls = balls
	if in.Question != nil {
		question, err := find.Parse(*in.Question)
		if err != nil {
			return in, err
		}
		printed := question.String()
		in.Question = &printed
	}
	if err := f.err(); err != nil {
		return in, err
	}
	there, err := column[int64](ctx, tx, sqlBallsOfSquad, args{"squad": v.SquadID, "balls": ids})
	if err != nil {
		return in, err
	}
	if len(there) != len(ids) {
		return in, fault.New(fault.Invalid, "", "A ball of the reel is not there any more. Reload the page and pick again.",
			fault.Field{Name: "balls", Reason: "must be balls of the squad"})
	}
	return in, playersThere(ctx, tx, v.SquadID, in.Players)
}

func saveReelParts(ctx context.Context, tx pgx.Tx, id int64, in tagging.ReelInput) error {
	n := len(in.Balls)
	ids, titles, notes := make([]int64, n), make([]string, n), make([]string, n)
	for i, b := range in.Balls {
		ids[i], titles[i], notes[i] = b.BallID, b.Title, b.Note
	}
	for _, step := range []struct {
		sql string
		a   args
	}{
		{sqlDropReelBalls, args{"reel": id}},
		{sqlDropReelPlayers, args{"reel": id}},
		{sqlAddReelBalls, args{"reel": id, "picked": in.Question == nil, "balls": ids, "titles": titles, "notes": notes}},
		{sqlAddReelPlayers, args{"reel": id, "players": in.Players}},
	} {
		if _, err := tx.Exec(ctx, step.sql, step.a); err != nil {
			return err
		}
	}
	return nil
}

// DeleteReel removes a reel with its links and films.
func (s *Store) DeleteReel(ctx context.Context, v tagging.Viewer, id int64) error {
	return s.inTx(ctx, "db.DeleteReel", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		if err := lockReel(ctx, tx, v, id, 0); err != nil {
			return err
		}
		films, err := column[int64](ctx, tx, sqlFilmsUnderWay, args{"reel": id})
		if err != nil {
			return err
		}
		for _, film := range films { // rarely more than one
			if err := s.cancelFilm(ctx, tx, film); err != nil {
				return err
			}
		}
		if _, err := tx.Exec(ctx, sqlDeleteReel, args{"id": id}); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "reel", ID: id})
	})
}

// inSharedReel says whether a ball is in a reel that is shared with a player.
func inSharedReel(ctx context.Context, q querier, v tagging.Viewer, ball int64) (bool, error) {
	picked, err := value[bool](ctx, q, sqlPickedForPlayer, args{"squad": v.SquadID, "player": v.PlayerID, "ball": ball})
	if err != nil || picked {
		return picked, err
	}
	questions, err := column[string](ctx, q, sqlSharedQuestions, args{"squad": v.SquadID, "player": v.PlayerID})
	if err != nil {
		return false, err
	}
	return foundByAny(ctx, q, v.SquadID, questions, ball)
}

// foundByAny says whether one of several questions finds a ball, by one
// statement.
func foundByAny(ctx context.Context, q querier, squad int64, questions []string, ball int64) (bool, error) {
	if len(questions) == 0 {
		return false, nil
	}
	asking := newAsker(squad, 0)
	id := asking.bind(ball)
	parts := make([]string, len(questions))
	for i, printed := range questions {
		question, err := find.Parse(printed)
		if err != nil {
			return false, err
		}
		from, _ := asking.found(question)
		parts[i] = fmt.Sprintf(fragBallIn, from+fmt.Sprintf(fragOfBall, id))
	}
	found, err := ask(ctx, q, strings.Join(parts, " UNION ALL "), asking.args, pgx.RowTo[bool])
	for _, in := range found {
		if in {
			return true, nil
		}
	}
	return false, err
}
