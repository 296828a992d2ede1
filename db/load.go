package db

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/plan"
)

const (
	sqlLoadBalls = `
		SELECT to_char(s.held_on, 'YYYY-MM-DD') AS day, coalesce(p.name, '') AS batter, coalesce(b.feeder, '') AS feeder,
			coalesce(b.feed, '') AS feed, coalesce(b.bowling, '') AS bowling, coalesce(b.speed_kph, 0) AS speed_kph,
			count(*) AS balls, 'balls' AS counted
		FROM delivery d JOIN net_session s ON s.id = d.session_id
			LEFT JOIN block b ON b.id = d.block_id LEFT JOIN player p ON p.id = d.player_id
		WHERE s.squad_id = @squad AND s.held_on BETWEEN @from::text::date AND @to::text::date AND d.state <> 'discarded'
		GROUP BY 1, 2, 3, 4, 5, 6 ORDER BY 1, 2, 3, 4, 5, 6`

	// Balls that were counted at the net. Where the lane has balls of the same block, or of none that was planned, those
	// are the count, so that no ball is counted twice.
	sqlLoadCards = `
		SELECT to_char(s.held_on, 'YYYY-MM-DD') AS day, coalesce(p.name, '') AS batter, coalesce(b.j->>'feeder', '') AS feeder,
			coalesce(b.j->>'feed', '') AS feed, coalesce(b.j->>'bowling', '') AS bowling,
			coalesce((b.j->>'speed_kph')::double precision, 0) AS speed_kph, count(*) AS balls, 'card' AS counted
		FROM net_mark m JOIN net_session s ON s.id = m.session_id
			LEFT JOIN plan l ON l.session_id = s.id
			LEFT JOIN LATERAL (SELECT l.blocks -> m.plan_block AS j) b ON true
			LEFT JOIN player p ON p.id = coalesce(nullif((b.j->>'player_id')::bigint, 0), l.player_id, (
				SELECT CASE WHEN count(*) = 1 THEN min(player_id) END FROM net_session_player WHERE session_id = s.id))
		WHERE s.squad_id = @squad AND s.held_on BETWEEN @from::text::date AND @to::text::date AND m.kind = 'given'
			AND NOT EXISTS (SELECT FROM net_mark u WHERE u.undoes = m.uuid AND u.session_id = m.session_id)
			AND NOT EXISTS (
				SELECT FROM delivery d LEFT JOIN block x ON x.id = d.block_id
				WHERE d.session_id = s.id AND d.state <> 'discarded'
					AND (m.plan_block IS NULL OR x.plan_id IS NULL OR x.plan_block = m.plan_block))
		GROUP BY 1, 2, 3, 4, 5, 6 ORDER BY 1, 2, 3, 4, 5, 6`

	sqlLimits = `SELECT id, doing, person, feed, days, balls, words FROM load_limit WHERE squad_id = @squad ORDER BY id`

	sqlDropLimits = `DELETE FROM load_limit WHERE squad_id = @squad`

	sqlAddLimit = `
		INSERT INTO load_limit (squad_id, doing, person, feed, days, balls, words)
		VALUES (@squad, @doing, @person, @feed, @days, @balls, @words)`
)

// maxLimits is how many limits a squad may set; maxLoadDays how far apart the
// first and last day of a look may lie.
const (
	maxLimits   = 50
	maxLoadDays = 400
)

type stintRow struct {
	Day, Batter, Feeder, Feed, Bowling string
	SpeedKPH                           float64
	Balls                              int
	Counted                            string
}

// Load returns who faced and who fed how many balls from one day to another
// (ISO dates, both included), and the limits that were set.
func (s *Store) Load(ctx context.Context, v tagging.Viewer, from, to string) (stints []plan.Stint, limits []plan.Limit, err error) {
	const op = "db.Load"
	if err := staffOnly(v); err != nil {
		return nil, nil, trouble(op, err)
	}
	if err := checkDays(from, to); err != nil {
		return nil, nil, trouble(op, err)
	}
	for _, sql := range []string{sqlLoadBalls, sqlLoadCards} {
		rows, err := all[stintRow](ctx, s.pool, sql, args{"squad": v.SquadID, "from": from, "to": to})
		if err != nil {
			return nil, nil, trouble(op, err)
		}
		for _, r := range rows {
			stints = append(stints, r.stints()...)
		}
	}
	limits, err = all[plan.Limit](ctx, s.pool, sqlLimits, args{"squad": v.SquadID})
	return stints, limits, trouble(op, err)
}

// stints are a row at both ends of the net. A machine has no arm to spare.
func (r stintRow) stints() []plan.Stint {
	faced := plan.Stint{
		Day: r.Day, Doing: plan.Facing, Person: r.Batter, Feed: r.Feed, Bowling: r.Bowling, SpeedKPH: r.SpeedKPH,
		Balls: r.Balls, Counted: r.Counted,
	}
	if r.Feed == "machine" || r.Feed == "" && r.Feeder == "" {
		return []plan.Stint{faced}
	}
	fed := faced
	fed.Doing, fed.Person = plan.Feeding, r.Feeder
	return []plan.Stint{faced, fed}
}

func checkDays(from, to string) error {
	first, err := time.Parse(time.DateOnly, from)
	last, err2 := time.Parse(time.DateOnly, to)
	if err != nil || err2 != nil || first.Year() < 1800 {
		return fault.New(fault.Invalid, "", "Choose the days to look at.", fault.Field{Name: "from", Reason: "must be a date such as 2026-01-31, as must the end"})
	}
	if last.Before(first) || last.Sub(first) > maxLoadDays*24*time.Hour {
		return fault.New(fault.Invalid, "", fmt.Sprintf("The last day must follow the first by %d days at most.", maxLoadDays),
			fault.Field{Name: "to", Reason: "must follow the first day"})
	}
	return nil
}

// SetLimits replaces the squad's limits.
func (s *Store) SetLimits(ctx context.Context, v tagging.Viewer, limits []plan.Limit) (kept []plan.Limit, err error) {
	err = s.inTx(ctx, "db.SetLimits", func(tx pgx.Tx) error {
		if err := coachOnly(v); err != nil {
			return err
		}
		if len(limits) > maxLimits {
			return fault.New(fault.Invalid, "", fmt.Sprintf("There can be %d limits at most.", maxLimits))
		}
		if _, err := tx.Exec(ctx, sqlLockSquad, args{"squad": v.SquadID}); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, sqlDropLimits, args{"squad": v.SquadID}); err != nil {
			return err
		}
		for i, l := range limits {
			if err := l.Check(); err != nil {
				return err
			}
			var f form
			at := fmt.Sprintf("limits.%d.", i)
			l.Person, l.Words = f.words(at+"person", l.Person, 0, maxNameLen), f.words(at+"words", l.Words, 0, maxTitleLen)
			l.Feed = f.words(at+"feed", l.Feed, 0, maxNameLen)
			if err := f.err(); err != nil {
				return err
			}
			if _, err := tx.Exec(ctx, sqlAddLimit, args{
				"squad": v.SquadID, "doing": l.Doing, "person": l.Person, "feed": l.Feed, "days": l.Days, "balls": l.Balls, "words": l.Words,
			}); err != nil {
				return err
			}
		}
		if kept, err = all[plan.Limit](ctx, tx, sqlLimits, args{"squad": v.SquadID}); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "plan", ID: v.SquadID})
	})
	return kept, err
}
