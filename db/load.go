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
	// A block that was made of a plan's has the plan's speed until somebody types another.
	sqlLoadBalls = `
		SELECT to_char(s.held_on, 'YYYY-MM-DD') AS day, coalesce(p.name, '') AS batter, coalesce(b.feeder, '') AS feeder,
			coalesce(b.feed, '') AS feed, coalesce(b.bowling, '') AS bowling, speed.by AS speed_by,
			coalesce(round(avg(speed.kph)::numeric, 1), 0)::double precision AS speed_kph,
			coalesce(min(measured.kph), 0) AS slowest, coalesce(max(measured.kph), 0) AS fastest,
			count(*) AS balls, 'balls' AS counted
		FROM delivery d JOIN net_session s ON s.id = d.session_id
			LEFT JOIN block b ON b.id = d.block_id LEFT JOIN plan l ON l.id = b.plan_id LEFT JOIN player p ON p.id = d.player_id
			CROSS JOIN LATERAL (
				SELECT round(avg(v.value)::numeric, 1)::double precision AS kph FROM reading r JOIN reading_value v ON v.reading_id = r.id
				WHERE r.delivery_id = d.id AND r.holds AND r.status = 'accepted' AND v.measure = 'ball-speed') measured
			CROSS JOIN LATERAL (SELECT nullif((l.blocks -> b.plan_block ->> 'speed_kph')::double precision, 0) AS kph) planned
			CROSS JOIN LATERAL (
				SELECT coalesce(measured.kph, b.speed_kph, planned.kph) AS kph, CASE
					WHEN measured.kph IS NOT NULL THEN 'measured'
					WHEN b.speed_kph <> coalesce(planned.kph, 0) THEN 'typed'
					WHEN planned.kph IS NOT NULL THEN 'planned'
					ELSE '' END AS by) speed
		WHERE s.squad_id = @squad AND s.held_on BETWEEN @from::text::date AND @to::text::date AND d.state <> 'discarded'
		GROUP BY 1, 2, 3, 4, 5, 6, CASE WHEN measured.kph IS NULL THEN speed.kph END ORDER BY 1, 2, 3, 4, 5, 7`

	// Balls that were counted at the net. Where the lane has balls of the same block, or of none that was planned, those
	// are the count, so that no ball is counted twice.
	sqlLoadCards = `
		SELECT to_char(s.held_on, 'YYYY-MM-DD') AS day, coalesce(p.name, '') AS batter, coalesce(b.j->>'feeder', '') AS feeder,
			coalesce(b.j->>'feed', '') AS feed, coalesce(b.j->>'bowling', '') AS bowling,
			CASE WHEN (b.j->>'speed_kph')::double precision > 0 THEN 'planned' ELSE '' END AS speed_by,
			coalesce((b.j->>'speed_kph')::double precision, 0) AS speed_kph, 0::double precision AS slowest,
			0::double precision AS fastest, count(*) AS balls, 'card' AS counted
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
		GROUP BY 1, 2, 3, 4, 5, 6, 7 ORDER BY 1, 2, 3, 4, 5, 7`

	sqlLatestLoad = `
		SELECT coalesce(to_char(max(s.held_on), 'YYYY-MM-DD'), '') FROM net_session s
		WHERE s.squad_id = @squad AND (EXISTS (SELECT FROM delivery d WHERE d.session_id = s.id AND d.state <> 'discarded')
			OR EXISTS (SELECT FROM net_mark m WHERE m.session_id = s.id AND m.kind = 'given'
				AND NOT EXISTS (SELECT FROM net_mark u WHERE u.undoes = m.uuid AND u.session_id = m.session_id)))`

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
	SpeedKPH, Slowest, Fastest         float64
	SpeedBy                            plan.SpeedBy
	Balls                              int
	Counted                            string
}

// LatestLoad is the latest day (ISO date) on which the squad has a ball, ""
// when there is none.
func (s *Store) LatestLoad(ctx context.Context, v tagging.Viewer) (string, error) {
	const op = "db.LatestLoad"
	if err := staffOnly(v); err != nil {
		return "", trouble(op, err)
	}
	day, err := value[string](ctx, s.pool, sqlLatestLoad, args{"squad": v.SquadID})
	return day, trouble(op, err)
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
		Slowest: r.Slowest, Fastest: r.Fastest, SpeedBy: r.SpeedBy, Balls: r.Balls, Counted: r.Counted,
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
