package db

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/compare"
	"netreel/tagging/vocabulary"
)

const lookQuery = `
	SELECT k.id, k.session_id, k.first_id, f.name AS first, k.second_id, s.name AS second, m.name AS made_by,
		k.groups, k.spread, k.seed, k.first_coded, k.created_at AS created, k.finished_at AS finished, c.begun, c.done, c.count
	FROM second_look k JOIN net_session n ON n.id = k.session_id
	JOIN account f ON f.id = k.first_id JOIN account s ON s.id = k.second_id JOIN account m ON m.id = k.made_by
	CROSS JOIN LATERAL (
		SELECT min(b.done_at) AS begun, count(*) FILTER (WHERE b.done_at IS NOT NULL) AS done, count(*) AS count
		FROM second_look_ball b JOIN delivery d ON d.id = b.delivery_id
		WHERE b.look_id = k.id AND d.state <> 'discarded'
	) c
	WHERE n.squad_id = @squad`

const (
	sqlLooks         = lookQuery + ` AND k.session_id = @session ORDER BY k.id DESC`
	sqlLook          = lookQuery + ` AND k.id = @id`
	sqlFinishedLooks = lookQuery + ` AND k.finished_at IS NOT NULL ORDER BY k.id`

	sqlLookBalls = `
		SELECT b.look_id, b.delivery_id, b.first_codes, b.second_codes, b.done_at IS NOT NULL AS done
		FROM second_look_ball b JOIN delivery d ON d.id = b.delivery_id
		WHERE b.look_id = ANY(@looks::bigint[]) AND d.state <> 'discarded'
		ORDER BY b.look_id, b.position`

	// What the first coder's words on a session's balls come to.
	sqlFirstCodes = `
		SELECT d.id, c.codes, (SELECT max(o.made_at) FROM observation o
			WHERE o.delivery_id = d.id AND o.account_id = @coder AND o.holds AND o.kind = 'term') AS coded
		FROM delivery d JOIN coding c ON c.delivery_id = d.id AND c.account_id = @coder
		WHERE d.session_id = @session AND d.state <> 'discarded'
		ORDER BY d.id`

	sqlStaffAccount = `
		SELECT EXISTS (SELECT FROM account
			WHERE id = @id AND squad_id = @squad AND role IN ('coach', 'analyst') AND disabled_at IS NULL)`

	sqlAddLook = `
		INSERT INTO second_look (session_id, first_id, second_id, made_by, groups, spread, seed, first_coded)
		VALUES (@session, @first, @second, @maker, @groups, @spread, @seed, @coded) RETURNING id`

	sqlAddLookBall = `
		INSERT INTO second_look_ball (look_id, position, delivery_id, first_codes)
		VALUES (@look, @position, @ball, @codes)`
)

const noLook = "There is no such second look. Perhaps it was removed."

// SecondLooks lists a session's second looks, newest first, without balls.
func (s *Store) SecondLooks(ctx context.Context, v tagging.Viewer, sessionID int64) ([]tagging.SecondLook, error) {
	const op = "db.SecondLooks"
	if err := staffRead(v, noSession); err != nil {
		return nil, trouble(op, err)
	}
	if _, err := session(ctx, s.pool, v, sessionID); err != nil {
		return nil, trouble(op, err)
	}
	list, err := looks(ctx, s.pool, sqlLooks, args{"squad": v.SquadID, "session": sessionID})
	return list, trouble(op, err)
}

// SecondLook returns one with its balls. What the first coder said is in it
// once it is finished; what the second did only then, or to themselves.
func (s *Store) SecondLook(ctx context.Context, v tagging.Viewer, id int64) (tagging.SecondLook, error) {
	look, err := secondLook(ctx, s.pool, v, id)
	return look, trouble("db.SecondLook", err)
}

func secondLook(ctx context.Context, q querier, v tagging.Viewer, id int64) (tagging.SecondLook, error) {
	if err := staffRead(v, noLook); err != nil {
		return tagging.SecondLook{}, err
	}
	list, err := looks(ctx, q, sqlLook, args{"squad": v.SquadID, "id": id})
	if err == nil && len(list) == 0 {
		err = absent(noLook)
	}
	if err == nil {
		err = lookBalls(ctx, q, list)
	}
	if err != nil {
		return tagging.SecondLook{}, err
	}
	look := list[0]
	for i := range look.Balls {
		b := &look.Balls[i]
		b.Ball.Seen, b.Ball.Measured = nil, nil
		if look.Finished == nil {
			b.First = nil
			if v.AccountID != look.SecondID {
				b.Second = nil
			}
		}
	}
	return look, nil
}

// FinishedLooks lists all finished second looks of a squad with their balls,
// oldest first: what says which terms may be trusted. The balls bear no clips.
func (s *Store) FinishedLooks(ctx context.Context, v tagging.Viewer) ([]tagging.SecondLook, error) {
	const op = "db.FinishedLooks"
	if err := staffRead(v, noLook); err != nil {
		return nil, trouble(op, err)
	}
	list, err := looks(ctx, s.pool, sqlFinishedLooks, args{"squad": v.SquadID})
	if err == nil {
		err = lookCodes(ctx, s.pool, list)
	}
	return list, trouble(op, err)
}

type lookRow struct {
	ID, SessionID       int64
	FirstID             int64
	First               string
	SecondID            int64
	Second, MadeBy      string
	Groups              []string
	Spread              string
	Seed                int64
	FirstCoded, Created time.Time
	Begun, Finished     *time.Time
	Done, Count         int
}

func looks(ctx context.Context, q querier, sql string, a args) ([]tagging.SecondLook, error) {
	rows, err := all[lookRow](ctx, q, sql, a)
	list := make([]tagging.SecondLook, len(rows))
	for i, r := range rows {
		list[i] = tagging.SecondLook{
			ID: r.ID, SessionID: r.SessionID, FirstID: r.FirstID, First: r.First, SecondID: r.SecondID, Second: r.Second,
			MadeBy: r.MadeBy, Groups: r.Groups, Spread: r.Spread, Seed: r.Seed, FirstCoded: r.FirstCoded, Created: r.Created,
			Begun: r.Begun, Finished: r.Finished, Done: r.Done, Count: r.Count,
		}
	}
	return list, err
}

// lookCodes fills the balls of second looks with what both coders said.
func lookCodes(ctx context.Context, q querier, list []tagging.SecondLook) error {
	ids, at := make([]int64, len(list)), map[int64]int{}
	for i, k := range list {
		ids[i], at[k.ID] = k.ID, i
	}
	rows, err := all[struct {
		LookID, DeliveryID      int64
		FirstCodes, SecondCodes []string
		Done                    bool
	}](ctx, q, sqlLookBalls, args{"looks": ids})
	for _, r := range rows {
		into := &list[at[r.LookID]]
		into.Balls = append(into.Balls, tagging.LookBall{
			Ball: tagging.Ball{ID: r.DeliveryID}, First: parseCodes(r.FirstCodes), Second: parseCodes(r.SecondCodes), Done: r.Done,
		})
	}
	return err
}

// lookBalls is lookCodes with the balls whole.
func lookBalls(ctx context.Context, q querier, list []tagging.SecondLook) error {
	if err := lookCodes(ctx, q, list); err != nil {
		return err
	}
	var ids []int64
	for _, k := range list {
		for _, b := range k.Balls {
			ids = append(ids, b.Ball.ID)
		}
	}
	whole, err := balls(ctx, q, ids)
	if err != nil {
		return err
	}
	byID := map[int64]tagging.Ball{}
	for _, b := range whole {
		byID[b.ID] = b
	}
	for _, k := range list {
		for i := range k.Balls {
			k.Balls[i].Ball = byID[k.Balls[i].Ball.ID]
		}
	}
	return nil
}

// AddSecondLook draws a second look: of the balls that the first coder coded
// in any of the groups, spread over the terms that they gave in one of them.
func (s *Store) AddSecondLook(ctx context.Context, v tagging.Viewer, sessionID int64, in tagging.LookInput) (look tagging.SecondLook, err error) {
	err = s.inTx(ctx, "db.AddSecondLook", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		if _, err := session(ctx, tx, v, sessionID); err != nil {
			return err
		}
		words, err := edition(ctx, tx, sqlCurrentEdition, args{"squad": v.SquadID})
		if err != nil {
			return err
		}
		if err := checkLook(ctx, tx, v, in, words); err != nil {
			return err
		}
		id, err := drawLook(ctx, tx, v, sessionID, in)
		if err != nil {
			return err
		}
		look, err = secondLook(ctx, tx, v, id)
		return err
	})
	return look, err
}

func checkLook(ctx context.Context, q querier, v tagging.Viewer, in tagging.LookInput, words vocabulary.Edition) error {
	var f form
	if in.Balls < 1 || in.Balls > tagging.MaxLook {
		f.bad("balls", fmt.Sprintf("must be 1 to %d", tagging.MaxLook))
	}
	if len(in.Groups) == 0 {
		f.bad("groups", "must be at least one")
	}
	for _, key := range in.Groups {
		if g, ok := words.Group(key); !ok || g.Retired {
			f.bad("groups", "must be groups of the vocabulary")
			break
		}
	}
	if in.Spread != "" && !slices.Contains(in.Groups, in.Spread) {
		f.bad("spread", "must be one of the groups that are coded")
	}
	for _, who := range []struct {
		name string
		id   int64
	}{{"first_id", in.FirstID}, {"second_id", in.SecondID}} {
		staff, err := value[bool](ctx, q, sqlStaffAccount, args{"id": who.id, "squad": v.SquadID})
		if err != nil {
			return err
		}
		if !staff {
			f.bad(who.name, "must be a coach or an analyst of the squad")
		}
	}
	return f.err()
}

func drawLook(ctx context.Context, tx pgx.Tx, v tagging.Viewer, sessionID int64, in tagging.LookInput) (int64, error) {
	rows, err := all[struct {
		ID    int64
		Codes []string
		Coded *time.Time
	}](ctx, tx, sqlFirstCodes, args{"session": sessionID, "coder": in.FirstID})
	if err != nil {
		return 0, err
	}
	codes, coded := map[int64][]string{}, map[int64]time.Time{}
	var items []compare.Item
	for _, r := range rows {
		of := slices.DeleteFunc(r.Codes, func(c string) bool {
			group, _, _ := strings.Cut(c, "=")
			return !slices.Contains(in.Groups, group)
		})
		if len(of) == 0 || r.Coded == nil {
			continue
		}
		codes[r.ID], coded[r.ID] = of, *r.Coded
		items = append(items, compare.Item{ID: r.ID, Stratum: strings.Join(parseCodes(of)[in.Spread], ",")})
	}
	if len(items) == 0 {
		return 0, fault.New(fault.Invalid, "", "The first coder has coded no ball of this session in these groups. Code some first, or choose others.",
			fault.Field{Name: "groups", Reason: "are coded on no ball"})
	}
	seed := rand.Int64()
	drawn := compare.Draw(items, in.Balls, uint64(seed))
	var last time.Time
	for _, id := range drawn {
		if coded[id].After(last) {
			last = coded[id]
		}
	}
	look, err := value[int64](ctx, tx, sqlAddLook, args{
		"session": sessionID, "first": in.FirstID, "second": in.SecondID, "maker": v.AccountID,
		"groups": in.Groups, "spread": in.Spread, "seed": seed, "coded": last,
	})
	if err != nil {
		return 0, err
	}
	var batch pgx.Batch
	for i, id := range drawn {
		batch.Queue(sqlAddLookBall, args{"look": look, "position": i + 1, "ball": id, "codes": codes[id]})
	}
	return look, tx.SendBatch(ctx, &batch).Close()
}
