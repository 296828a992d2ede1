package db

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/jackc/pgx/v5"

	"netreel/tagging"
	"netreel/tagging/find"
	"netreel/tagging/vocabulary"
)

// All facets are counted by one statement, put together from these. A facet
// that the question chooses from counts under the question without itself; the
// others count the matched balls.
const (
	fragMatched = `WITH matched AS MATERIALIZED (SELECT %s AS codes, d.player_id, d.session_id, d.block_id%s)
		SELECT '' AS facet, '' AS value, count(*) AS n FROM matched`

	// A ball has each of its codes once.
	fragCountCodes = `
		UNION ALL SELECT 'code', code, count(*) FROM matched CROSS JOIN unnest(codes) AS code GROUP BY code`

	fragCountCodesOf = `
		UNION ALL SELECT 'code of', code, count(*) FROM (SELECT %s AS codes%s) m CROSS JOIN unnest(codes) AS code
		WHERE starts_with(code, %s) GROUP BY code`

	fragCountPlayers = `
		UNION ALL SELECT 'player', player_id::text, count(*) FROM %s WHERE player_id IS NOT NULL GROUP BY player_id`
	fragCountSessions = `
		UNION ALL SELECT 'session', session_id::text, count(*) FROM %s GROUP BY session_id`
	fragCountBlocks = `
		UNION ALL SELECT 'block', block_id::text, count(*) FROM %s WHERE block_id IS NOT NULL GROUP BY block_id`
	fragCountCoders = `
		UNION ALL SELECT 'coder', spoke.account_id::text, count(*)%s GROUP BY spoke.account_id`

	fragMatchedBut = `(SELECT d.player_id, d.session_id, d.block_id%s) m`
)

const sqlNames = `
	SELECT 'player' AS facet, p.id, p.name, row_number() OVER (ORDER BY lower(p.name), p.id) AS place
	FROM player p WHERE p.squad_id = @squad AND p.id = ANY(@player::bigint[])
	UNION ALL
	SELECT 'session', s.id, s.title || ', ' || to_char(s.held_on, 'YYYY-MM-DD'), row_number() OVER (ORDER BY s.held_on DESC, s.id DESC)
	FROM net_session s WHERE s.squad_id = @squad AND s.id = ANY(@session::bigint[])
	UNION ALL
	SELECT 'block', b.id, b.name || ', ' || to_char(s.held_on, 'YYYY-MM-DD'),
		row_number() OVER (ORDER BY s.held_on DESC, s.id DESC, b.start_us, b.id)
	FROM block b JOIN net_session s ON s.id = b.session_id WHERE s.squad_id = @squad AND b.id = ANY(@block::bigint[])
	UNION ALL
	SELECT 'coder', a.id, a.name, row_number() OVER (ORDER BY lower(a.name), a.id)
	FROM account a WHERE a.squad_id = @squad AND a.id = ANY(@coder::bigint[])
	ORDER BY facet, place`

// counts are how many balls each choice of each facet gives.
type counts map[string]map[string]int

func (c counts) set(facet, value string, n int) {
	if c[facet] == nil {
		c[facet] = map[string]int{}
	}
	c[facet][value] = n
}

// facets counts the balls that a question asks for, and those that each other
// choice would give.
func (s *Store) facets(ctx context.Context, v tagging.Viewer, q find.Question) (total int, list []find.Facet, err error) {
	a := newAsker(v.SquadID, onlyPlayer(v))
	sql := a.facets(q)
	type row struct {
		Facet, Value string
		N            int
	}
	rows, err := ask(ctx, s.pool, sql, a.args, pgx.RowToStructByName[row])
	if err != nil {
		return 0, nil, err
	}
	n, asked := counts{}, q.Groups()
	for _, r := range rows {
		switch r.Facet {
		case "code": // those of the groups asked for count under the question without them
			if group, term, _ := strings.Cut(r.Value, "="); !slices.Contains(asked, group) {
				n.set(group, term, r.N)
			}
		case "code of":
			group, term, _ := strings.Cut(r.Value, "=")
			n.set(group, term, r.N)
		default:
			n.set(r.Facet, r.Value, r.N)
		}
	}
	e, err := edition(ctx, s.pool, sqlCurrentEdition, args{"squad": v.SquadID})
	if err != nil {
		return 0, nil, err
	}
	named, err := namedFacets(ctx, s.pool, v, q, n)
	return n[""][""], append(groupFacets(e, n), named...), err
}

// facets puts the statement together.
func (a *asker) facets(q find.Question) string {
	var sql strings.Builder
	matched, known := a.found(q)
	fmt.Fprintf(&sql, fragMatched, known, matched)
	sql.WriteString(fragCountCodes)
	for _, g := range q.Groups() {
		matched, known := a.found(q.Without(g))
		fmt.Fprintf(&sql, fragCountCodesOf, known, matched, a.bind(code(g, "")))
	}
	for _, f := range []struct {
		frag, facet string
		chosen      []int64
	}{
		{fragCountPlayers, find.FacetPlayer, q.Players},
		{fragCountSessions, find.FacetSession, q.Sessions},
		{fragCountBlocks, find.FacetBlock, q.Blocks},
	} {
		from := "matched"
		if len(f.chosen) > 0 {
			matched, _ := a.found(q.Without(f.facet))
			from = fmt.Sprintf(fragMatchedBut, matched)
		}
		fmt.Fprintf(&sql, f.frag, from)
	}
	fmt.Fprintf(&sql, fragCountCoders, a.foundByCoder(q))
	return sql.String()
}

// groupFacets lists every group in its place, its terms in theirs. What is
// retired is listed only where balls bear it.
func groupFacets(e vocabulary.Edition, n counts) []find.Facet {
	var list []find.Facet
	for _, g := range e.Groups {
		f := find.Facet{Key: g.Key}
		for _, t := range g.Terms {
			count := n[g.Key][t.Key]
			if count > 0 || !t.Retired && !g.Retired {
				f.Choices = append(f.Choices, find.Choice{Value: t.Key, Name: t.Name, Count: count})
			}
		}
		if len(f.Choices) > 0 || !g.Retired {
			list = append(list, f)
		}
	}
	return list
}

// namedFacets lists players, sessions, blocks and coders that balls have, and
// those that the question chooses: but to a player no names of what they can't
// see.
func namedFacets(ctx context.Context, q querier, v tagging.Viewer, asked find.Question, n counts) ([]find.Facet, error) {
	chosen := []struct {
		facet string
		ids   []int64
	}{
		{find.FacetPlayer, asked.Players},
		{find.FacetSession, asked.Sessions},
		{find.FacetBlock, asked.Blocks},
		{find.FacetCoder, asked.Coders},
	}
	a := args{"squad": v.SquadID}
	for _, c := range chosen {
		ids := []int64{}
		if v.Role.Staff() {
			ids = append(ids, c.ids...)
		}
		for value := range n[c.facet] {
			id, err := strconv.ParseInt(value, 10, 64)
			if err != nil {
				return nil, err
			}
			ids = append(ids, id)
		}
		a[c.facet] = ids
	}
	names, err := all[struct {
		Facet string
		ID    int64
		Name  string
		Place int
	}](ctx, q, sqlNames, a)
	if err != nil {
		return nil, err
	}
	list, at := make([]find.Facet, len(chosen)), map[string]int{}
	for i, c := range chosen {
		list[i].Key, at[c.facet] = c.facet, i
	}
	for _, name := range names {
		f, value := &list[at[name.Facet]], strconv.FormatInt(name.ID, 10)
		f.Choices = append(f.Choices, find.Choice{Value: value, Name: name.Name, Count: n[name.Facet][value]})
	}
	return list, nil
}
