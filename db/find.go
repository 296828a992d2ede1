package db

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"netreel/tagging"
	"netreel/tagging/find"
)

// A question is put together from these fragments; their %s are names of
// arguments and other fragments, never values. They search what is known of
// balls ("shot=pull"), which the ledger and the blocks keep up to date, and the
// text of notes.
const (
	fragFound = `
		FROM delivery d JOIN net_session s ON s.id = d.session_id
		WHERE s.squad_id = %s AND d.state <> 'discarded'`

	// With the codes of one coder only; balls they said nothing of are out.
	fragFoundOfCoder = `
		FROM coding heard JOIN delivery d ON d.id = heard.delivery_id JOIN net_session s ON s.id = d.session_id
		WHERE heard.account_id = ANY(%s::bigint[]) AND s.squad_id = %s AND d.state <> 'discarded'`

	// The same of several together.
	fragFoundOfCoders = `
		FROM delivery d JOIN net_session s ON s.id = d.session_id CROSS JOIN LATERAL (
			SELECT coalesce(array_agg(DISTINCT code) FILTER (WHERE code IS NOT NULL), '{}') AS codes
			FROM coding c LEFT JOIN LATERAL unnest(c.codes) AS code ON true
			WHERE c.delivery_id = d.id AND c.account_id = ANY(%s::bigint[]) HAVING count(*) > 0
		) heard
		WHERE s.squad_id = %s AND d.state <> 'discarded'`

	// A row for each ball and each coder who spoke of it.
	fragFoundByCoder = `
		FROM coding spoke JOIN delivery d ON d.id = spoke.delivery_id JOIN net_session s ON s.id = d.session_id
		WHERE s.squad_id = %s AND d.state <> 'discarded'`

	fragOfPlayer = ` AND d.player_id = %s`
	fragOfBall   = ` AND d.id = %s`

	fragHas     = ` AND %s && %s::text[]`
	fragNot     = ` AND NOT %s && %s::text[]`
	fragUncoded = ` AND NOT EXISTS (SELECT FROM unnest(%s) AS code WHERE starts_with(code, %s))`
	fragText    = ` AND EXISTS (SELECT FROM observation o WHERE o.delivery_id = d.id AND o.holds AND o.kind = 'note'
		AND o.words @@ websearch_to_tsquery('english', %s)%s)`

	fragPlayers  = ` AND d.player_id = ANY(%s::bigint[])`
	fragSessions = ` AND d.session_id = ANY(%s::bigint[])`
	fragBlocks   = ` AND d.block_id = ANY(%s::bigint[])`
	fragBalls    = ` AND d.id = ANY(%s::bigint[])`
	fragFrom     = ` AND s.held_on >= %s::text::date`
	fragTo       = ` AND s.held_on <= %s::text::date`

	fragMeasured = ` AND EXISTS (SELECT FROM reading r JOIN reading_value v ON v.reading_id = r.id
		WHERE r.delivery_id = d.id AND r.holds AND r.status = 'accepted'
			AND v.measure = %s AND v.value BETWEEN %s::double precision AND %s::double precision)`

	fragByCoders  = ` AND o.account_id = ANY(%s::bigint[])`
	fragByThatOne = ` AND o.account_id = spoke.account_id`

	// Newest session first, its balls as they were played.
	fragInOrder = `SELECT d.id%s ORDER BY %ss.held_on DESC, s.id DESC, d.number, d.id LIMIT %s OFFSET %s`
)

const sqlItems = `
	SELECT d.id, s.title AS session, to_char(s.held_on, 'YYYY-MM-DD') AS held_on,
		coalesce(b.name, '') AS block, coalesce(p.name, '') AS player
	FROM delivery d JOIN net_session s ON s.id = d.session_id
		LEFT JOIN block b ON b.id = d.block_id LEFT JOIN player p ON p.id = d.player_id
	WHERE d.id = ANY(@ids::bigint[])`

// asker writes questions as SQL. Its arguments are those of one statement,
// which may hold several questions.
type asker struct {
	args   args
	squad  string // names of arguments
	player string // "" for the whole squad
}

func newAsker(squad, player int64) *asker {
	a := &asker{args: args{}}
	a.squad = a.bind(squad)
	if player != 0 {
		a.player = a.bind(player)
	}
	return a
}

// bind adds an argument and returns its name.
func (a *asker) bind(v any) string {
	name := fmt.Sprintf("p%d", len(a.args))
	a.args[name] = v
	return "@" + name
}

// fragByMeasure puts balls in the order of a measure, those without it last.
const fragByMeasure = `(SELECT %s(v.value) FROM reading r JOIN reading_value v ON v.reading_id = r.id
	WHERE r.delivery_id = d.id AND r.holds AND r.status = 'accepted' AND v.measure = %s) %s NULLS LAST, `

// order is what a question's balls are ordered by before the time.
func (a *asker) order(q find.Question) string {
	switch measure, down := strings.CutPrefix(q.Sort, "-"); {
	case q.Sort == "":
		return ""
	case down:
		return fmt.Sprintf(fragByMeasure, "max", a.bind(measure), "DESC")
	default:
		return fmt.Sprintf(fragByMeasure, "min", a.bind(measure), "ASC")
	}
}

// end is an end of a range; an open one is beyond all values.
func end(v *float64, open float64) float64 {
	if v == nil {
		return open
	}
	return *v
}

// code is how a term is written in the codes of a ball.
func code(group, term string) string { return group + "=" + term }

// found returns the FROM and WHERE of the balls that a question asks for, and
// where in it that is which is known of them: with coders, what these said.
func (a *asker) found(q find.Question) (sql, known string) {
	if len(q.Coders) == 0 {
		return fmt.Sprintf(fragFound, a.squad) + a.conditions(q, "d.known", "d.codes", ""), "d.known"
	}
	frag, coders := fragFoundOfCoder, a.bind(q.Coders)
	if len(q.Coders) > 1 {
		frag = fragFoundOfCoders
	}
	sql = fmt.Sprintf(frag, coders, a.squad) + a.conditions(q, "heard.codes", "heard.codes", fmt.Sprintf(fragByCoders, coders))
	return sql, "heard.codes"
}

// foundByCoder is found for each coder by themselves, whomever the question
// chooses: their account is spoke.account_id.
func (a *asker) foundByCoder(q find.Question) string {
	return fmt.Sprintf(fragFoundByCoder, a.squad) + a.conditions(q, "spoke.codes", "spoke.codes", fragByThatOne)
}

// conditions are all but whose words count: known and seen say where these are,
// with what blocks give and without, by whose notes are read.
func (a *asker) conditions(q find.Question, known, seen, by string) string {
	var w strings.Builder
	if a.player != "" {
		fmt.Fprintf(&w, fragOfPlayer, a.player)
	}
	for _, list := range []struct {
		frag   string
		groups map[string][]string
	}{{fragHas, q.Has}, {fragNot, q.Not}} {
		for _, g := range slices.Sorted(maps.Keys(list.groups)) {
			terms := make([]string, len(list.groups[g]))
			for i, t := range list.groups[g] {
				terms[i] = code(g, t)
			}
			fmt.Fprintf(&w, list.frag, known, a.bind(terms))
		}
	}
	for _, g := range q.Uncoded {
		fmt.Fprintf(&w, fragUncoded, seen, a.bind(code(g, "")))
	}
	for _, list := range []struct {
		frag string
		ids  []int64
	}{{fragPlayers, q.Players}, {fragSessions, q.Sessions}, {fragBlocks, q.Blocks}, {fragBalls, q.Balls}} {
		if len(list.ids) > 0 {
			fmt.Fprintf(&w, list.frag, a.bind(list.ids))
		}
	}
	for _, m := range slices.Sorted(maps.Keys(q.Measured)) {
		r := q.Measured[m]
		fmt.Fprintf(&w, fragMeasured, a.bind(m), a.bind(end(r.Low, math.Inf(-1))), a.bind(end(r.High, math.Inf(1))))
	}
	if q.From != "" {
		fmt.Fprintf(&w, fragFrom, a.bind(q.From))
	}
	if q.To != "" {
		fmt.Fprintf(&w, fragTo, a.bind(q.To))
	}
	if q.Text != "" {
		fmt.Fprintf(&w, fragText, a.bind(q.Text), by)
	}
	return w.String()
}

// ask runs a statement that was put together. It is not kept prepared: there
// are as many as there are questions, and a plan for the very values is better.
func ask[T any](ctx context.Context, q querier, sql string, a args, to pgx.RowToFunc[T]) ([]T, error) {
	rows, err := q.Query(ctx, sql, pgx.QueryExecModeDescribeExec, a)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, to)
}

// Find answers a question with one page of balls, how many there are, and how
// many each further choice would give. A player finds only their own balls.
func (s *Store) Find(ctx context.Context, v tagging.Viewer, q find.Question, page find.Page) (find.Found, error) {
	const op = "db.Find"
	q = q.Normal()
	if page.Limit <= 0 {
		page.Limit = find.DefaultLimit
	}
	page.Limit, page.Offset = min(page.Limit, find.MaxLimit), max(page.Offset, 0)
	total, facets, err := s.facets(ctx, v, q)
	if err != nil {
		return find.Found{}, trouble(op, err)
	}
	ids, err := foundIDs(ctx, s.pool, newAsker(v.SquadID, onlyPlayer(v)), q, page)
	if err != nil {
		return find.Found{}, trouble(op, err)
	}
	list, err := items(ctx, s.pool, ids)
	return find.Found{Total: total, Items: list, Facets: facets}, trouble(op, err)
}

func foundIDs(ctx context.Context, q querier, a *asker, question find.Question, page find.Page) ([]int64, error) {
	from, _ := a.found(question)
	sql := fmt.Sprintf(fragInOrder, from, a.order(question), a.bind(page.Limit), a.bind(page.Offset))
	return ask(ctx, q, sql, a.args, pgx.RowTo[int64])
}

// items loads balls with all that the player page shows, in the order of ids,
// by five statements.
func items(ctx context.Context, q querier, ids []int64) ([]tagging.PlaylistItem, error) {
	loaded, err := balls(ctx, q, ids)
	if err != nil {
		return nil, err
	}
	type context struct {
		ID                             int64
		Session, HeldOn, Block, Player string
	}
	rows, err := all[context](ctx, q, sqlItems, args{"ids": ids})
	if err != nil {
		return nil, err
	}
	around := make(map[int64]context, len(rows))
	for _, r := range rows {
		around[r.ID] = r
	}
	list := make([]tagging.PlaylistItem, len(loaded))
	for i, b := range loaded {
		c := around[b.ID]
		list[i] = tagging.PlaylistItem{
			ReelBall: tagging.ReelBall{BallID: b.ID}, Ball: b,
			Session: c.Session, HeldOn: c.HeldOn, Block: c.Block, Player: c.Player,
		}
	}
	return list, nil
}
