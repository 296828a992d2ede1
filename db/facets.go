package db

import (
	"context"
	"fmt"
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
	fragMatched = `WITH matched AS MATERIALIZED (SELECT d.id, d.player_id, d.session_id, d.block_id%s)
		SELECT '' AS facet, '' AS value, count(*) AS n FROM matched`

	fragCountTerms = `
		UNION ALL SELECT group_key, term_key, count(*) FROM (
			SELECT DISTINCT o.group_key, o.term_key, o.delivery_id FROM matched m JOIN observation o ON o.delivery_id = m.id
			WHERE o.holds AND o.kind = 'term' AND o.group_key <> ALL(%s::text[])%s
		) said GROUP BY 1, 2`

	fragCountTermsOf = `
		UNION ALL SELECT group_key, term_key, count(*) FROM (
			SELECT DISTINCT o.group_key, o.term_key, o.delivery_id FROM (SELECT d.id%s) m JOIN observation o ON o.delivery_id = m.id
			WHERE o.holds AND o.kind = 'term' AND o.group_key = %s%s
		) said GROUP BY 1, 2`

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
	n := counts{}
	for _, r := range rows {
		if n[r.Facet] == nil {
			n[r.Facet] = map[string]int{}
		}
		n[r.Facet][r.Value] = r.N
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
	var by string
	if len(q.Coders) > 0 {
		by = fmt.Sprintf(fragByCoders, a.bind(q.Coders))
	}
	var sql strings.Builder
	fmt.Fprintf(&sql, fragMatched, a.found(q))
	asked := q.Groups()
	if asked == nil {
		asked = []string{}
	}
	fmt.Fprintf(&sql, fragCountTerms, a.bind(asked), by)
	for _, g := range asked {
		fmt.Fprintf(&sql, fragCountTermsOf, a.found(q.Without(g)), a.bind(g), by)
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
			from = fmt.Sprintf(fragMatchedBut, a.found(q.Without(f.facet)))
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
