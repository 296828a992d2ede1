package db

import (
	"context"
	"slices"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/compare"
	"netreel/tagging/plan"
)

// How a player's balls of each term of a group went: bad of those that were
// judged at all.
const sqlCells = `
	SELECT split_part(code, '=', 2) AS term, count(*) AS balls, count(*) FILTER (WHERE d.codes && @bad::text[]) AS bad
	FROM delivery d JOIN net_session s ON s.id = d.session_id CROSS JOIN unnest(d.codes) AS code
	WHERE s.squad_id = @squad AND d.player_id = @player AND d.state <> 'discarded'
		AND d.codes && (@bad::text[] || @good::text[]) AND split_part(code, '=', 1) = @group
	GROUP BY term ORDER BY term`

// A ball went badly here when the bat did not meet it as meant; balls that
// nothing was played at don't count either way. The look-back has the finer
// rules.
var (
	badly = []string{
		"contact=mistimed", "contact=inside-edge", "contact=outside-edge", "contact=top-edge", "contact=glove-or-body", "contact=missed",
	}
	well = []string{"contact=middled"}
)

// Cells suggests how to weigh terms of a group (none named: all that are
// offered) against each other for a player, by how their balls of each went.
func (s *Store) Cells(ctx context.Context, v tagging.Viewer, player int64, group string, terms []string) ([]plan.Cell, error) {
	const op = "db.Cells"
	if err := staffOnly(v); err != nil {
		return nil, trouble(op, err)
	}
	if _, err := playerFor(ctx, s.pool, v, player); err != nil {
		return nil, trouble(op, err)
	}
	e, err := edition(ctx, s.pool, sqlCurrentEdition, args{"squad": v.SquadID})
	if err != nil {
		return nil, trouble(op, err)
	}
	g, ok := e.Group(group)
	if !ok {
		return nil, fault.New(fault.Invalid, op, "Choose a group of the vocabulary.", fault.Field{Name: "group", Reason: "is not in the vocabulary"})
	}
	type count struct {
		Term       string
		Balls, Bad int
	}
	counts, err := all[count](ctx, s.pool, sqlCells, args{"squad": v.SquadID, "player": player, "group": group, "bad": badly, "good": well})
	if err != nil {
		return nil, trouble(op, err)
	}
	var cells []plan.Cell
	var rates []compare.Rate
	for _, t := range g.Terms {
		if len(terms) > 0 && !slices.Contains(terms, t.Key) || t.Retired {
			continue
		}
		var r compare.Rate
		for _, c := range counts {
			if c.Term == t.Key {
				r = compare.Rate{Hits: c.Bad, Of: c.Balls}
			}
		}
		cells, rates = append(cells, plan.Cell{Term: t.Key, Name: t.Name, Balls: r.Of, Bad: r.Hits}), append(rates, r)
	}
	for i, w := range plan.Suggest(rates) {
		cells[i].Weight = w
	}
	return cells, nil
}
