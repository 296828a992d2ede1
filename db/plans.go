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
	"netreel/tagging/plan"
)

const planQuery = `
	SELECT p.id, p.title, coalesce(p.player_id, 0) AS player_id, p.minutes, p.work_on, p.note, p.helmets, p.blocks,
		coalesce(p.session_id, 0) AS session_id, p.revision, a.name AS made_by, p.updated_at AS updated
	FROM plan p JOIN account a ON a.id = p.made_by
	WHERE p.squad_id = @squad`

const (
	sqlPlans    = planQuery + ` ORDER BY p.updated_at DESC, p.id DESC`
	sqlPlan     = planQuery + ` AND p.id = @id`
	sqlLockPlan = sqlPlan + ` FOR NO KEY UPDATE OF p`

	sqlAddPlan = `
		INSERT INTO plan (squad_id, title, player_id, minutes, work_on, note, helmets, blocks, made_by)
		VALUES (@squad, @title, nullif(@player::bigint, 0), @minutes, @work_on, @note, @helmets, @blocks, @maker)
		RETURNING id`

	sqlChangePlan = `
		UPDATE plan SET title = @title, player_id = nullif(@player::bigint, 0), minutes = @minutes, work_on = @work_on,
			note = @note, helmets = @helmets, blocks = @blocks, revision = revision + 1, updated_at = now()
		WHERE id = @id`

	sqlDeletePlan = `DELETE FROM plan WHERE id = @id`
)

const (
	noPlan    = "There is no such plan. Perhaps it was deleted."
	maxWorkOn = 12
)

type planRow struct {
	ID        int64
	Title     string
	PlayerID  int64
	Minutes   int
	WorkOn    []string
	Note      string
	Helmets   bool
	Blocks    []plan.Block
	SessionID int64
	Revision  int
	MadeBy    string
	Updated   time.Time
}

// Plans lists the squad's plans, last changed first, to staff: a batter who
// knew the order would practise against something else.
func (s *Store) Plans(ctx context.Context, v tagging.Viewer) ([]plan.Plan, error) {
	const op = "db.Plans"
	if err := staffOnly(v); err != nil {
		return nil, trouble(op, err)
	}
	rows, err := all[planRow](ctx, s.pool, sqlPlans, args{"squad": v.SquadID})
	list := make([]plan.Plan, len(rows))
	for i, r := range rows {
		list[i] = plan.Plan(r)
	}
	return list, trouble(op, err)
}

// Plan returns one plan.
func (s *Store) Plan(ctx context.Context, v tagging.Viewer, id int64) (plan.Plan, error) {
	const op = "db.Plan"
	if err := staffRead(v, noPlan); err != nil {
		return plan.Plan{}, trouble(op, err)
	}
	p, err := planBy(ctx, s.pool, sqlPlan, v, id)
	return p, trouble(op, err)
}

func planBy(ctx context.Context, q querier, sql string, v tagging.Viewer, id int64) (plan.Plan, error) {
	r, err := one[planRow](ctx, q, sql, args{"squad": v.SquadID, "id": id})
	if errors.Is(err, pgx.ErrNoRows) {
		err = absent(noPlan)
	}
	return plan.Plan(r), err
}

// SavePlan adds a plan (ID 0) or changes all of one, if its revision is still
// the one that the page knew. Sequences are drawn anew from what the blocks
// ask; a block without a seed gets one.
func (s *Store) SavePlan(ctx context.Context, v tagging.Viewer, p plan.Plan) (saved plan.Plan, err error) {
	err = s.inTx(ctx, "db.SavePlan", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		if p, err = checkPlan(ctx, tx, v, p); err != nil {
			return err
		}
		a := args{
			"title": p.Title, "player": p.PlayerID, "minutes": p.Minutes, "work_on": p.WorkOn, "note": p.Note,
			"helmets": p.Helmets, "blocks": p.Blocks,
		}
		id := p.ID
		if id == 0 {
			a["squad"], a["maker"] = v.SquadID, v.AccountID
			if id, err = value[int64](ctx, tx, sqlAddPlan, a); err != nil {
				return err
			}
		} else {
			now, err := planBy(ctx, tx, sqlLockPlan, v, id)
			if err != nil {
				return err
			}
			if now.Revision != p.Revision {
				return fault.New(fault.Conflict, "", "Somebody else changed this plan meanwhile. Reload it and make your changes again.")
			}
			a["id"] = id
			if _, err := tx.Exec(ctx, sqlChangePlan, a); err != nil {
				return err
			}
		}
		if saved, err = planBy(ctx, tx, sqlPlan, v, id); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "plan", ID: id})
	})
	return saved, err
}

func checkPlan(ctx context.Context, tx pgx.Tx, v tagging.Viewer, p plan.Plan) (plan.Plan, error) {
	var f form
	p.Title, p.Note = f.words("title", p.Title, 1, maxTitleLen), f.words("note", p.Note, 0, maxTextLen)
	if len(p.WorkOn) > maxWorkOn {
		f.bad("work_on", fmt.Sprintf("can be %d terms at most", maxWorkOn))
	}
	e, err := edition(ctx, tx, sqlCurrentEdition, args{"squad": v.SquadID})
	if err != nil {
		return p, err
	}
	known := func(at, group, key string) {
		if _, ok := e.Term(group, key); key != "" && !ok {
			f.bad(at, "is not in the vocabulary")
		}
	}
	for i, code := range p.WorkOn {
		group, term, _ := strings.Cut(code, "=")
		if _, ok := e.Term(group, term); !ok {
			f.bad(fmt.Sprintf("work_on.%d", i), "is not in the vocabulary")
		}
	}
	if err := p.Check(); err != nil {
		return p, err
	}
	blocks := make([]plan.Block, len(p.Blocks))
	for i, b := range p.Blocks {
		at := fmt.Sprintf("blocks.%d.", i)
		b.Name, b.Feeder = f.words(at+"name", b.Name, 1, maxTitleLen), f.words(at+"feeder", b.Feeder, 0, maxNameLen)
		checkTerms(b, at, known)
		if blocks[i], err = b.Drawn(); err != nil {
			f.bad(at+"types", fault.Message(err))
		}
	}
	p.Blocks = blocks
	if p.WorkOn == nil {
		p.WorkOn = []string{}
	}
	if err := f.err(); err != nil {
		return p, err
	}
	return p, playersThere(ctx, tx, v.SquadID, p.Players())
}

func checkTerms(b plan.Block, at string, known func(at, group, key string)) {
	known(at+"bowling", "bowling", b.Bowling)
	known(at+"feed", "feed", b.Feed)
	known(at+"bat", "bat", b.Bat)
	for j, t := range b.Types {
		known(fmt.Sprintf("%stypes.%d.length", at, j), "length", t.Length)
		known(fmt.Sprintf("%stypes.%d.line", at, j), "line", t.Line)
		known(fmt.Sprintf("%stypes.%d.height", at, j), "height", t.Height)
	}
}

// DeletePlan removes a plan. A session that was made of it stays.
func (s *Store) DeletePlan(ctx context.Context, v tagging.Viewer, id int64) error {
	return s.inTx(ctx, "db.DeletePlan", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		if _, err := planBy(ctx, tx, sqlLockPlan, v, id); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, sqlDeletePlan, args{"id": id}); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "plan", ID: id})
	})
}
