package lookback

import (
	"maps"
	"slices"

	"netreel/tagging/compare"
	"netreel/tagging/vocabulary"
)

// Decisions is height at the batter against what was done.
type Decisions struct {
	Columns []Column // the actions
	Rows    []DecisionRow
	Unsaid  Cell // balls of which height or action is not coded
}

// DecisionRow is the balls of one height.
type DecisionRow struct {
	Term, Name string
	Cells      []DecisionCell // one for each column
	Total      Cell
}

// DecisionCell is balls of one height with which one thing was done, and
// whether that was right by the coach's rules. Right and Wrong are empty where
// the rules say nothing.
type DecisionCell struct {
	Cell
	Right, Wrong Cell
}

func (s Set) decisions(e vocabulary.Edition, rules Rules) Decisions {
	d := Decisions{Columns: actions}
	known := func(b seen) bool { return b.action != Unknown && len(b.terms[groupHeight]) == 1 }
	everything := func(seen) bool { return true }
	for _, t := range terms(e, groupHeight) {
		here := s.where(func(b seen) bool { return known(b) && b.terms.has(groupHeight, t.Key) })
		row := DecisionRow{Term: t.Key, Name: t.Name, Total: here.cell(everything, only(groupHeight, t.Key))}
		if row.Total.N == 0 {
			continue
		}
		for _, column := range actions {
			a := Action(column.Key)
			did := here.where(func(b seen) bool { return b.action == a })
			ask := a.asks(e)
			ask.has[groupHeight] = []string{t.Key}
			judged := func(v verdict) Cell {
				return did.cell(func(b seen) bool { return rules.judge(b.terms) == v }, ask)
			}
			row.Cells = append(row.Cells, DecisionCell{Cell: did.cell(everything, ask), Right: judged(hit), Wrong: judged(miss)})
		}
		d.Rows = append(d.Rows, row)
	}
	d.Unsaid = s.cell(func(b seen) bool { return !known(b) }, narrow{uncoded: []string{groupHeight}})
	return d
}

// Cross is a table by contact: a row for each term of a group.
type Cross struct {
	Group, Name string
	Many        bool // a ball may be in several rows
	Columns     []Column
	Rows        []CrossRow
	Unsaid      Cell // balls of which group or contact is not coded, or disputed
}

// CrossRow is the balls with one term, by what became of them, and whether it
// went badly more often than on all other balls of the table.
type CrossRow struct {
	Term, Name string
	Cells      []Cell
	Total      Cell
	Badly      Rate            // not in control, of shots played
	Against    compare.Verdict // the row held against the others, adjusted among the table's rows
}

// cross makes the table of a group; only terms that were seen have rows.
func (s Set) cross(e vocabulary.Edition, group string) Cross {
	g, _ := e.Group(group)
	c := Cross{Group: group, Name: g.Name, Many: g.Many, Columns: contacts(e, s)}
	clear := func(b seen) bool {
		return !b.split && b.contact != Unsaid && len(b.terms[group]) > 0 && (g.Many || len(b.terms[group]) == 1)
	}
	counted := s.where(clear)
	var against []compare.RateComparison
	for _, t := range g.Terms {
		with := func(b seen) bool { return b.terms.has(group, t.Key) }
		here := counted.where(with)
		row := CrossRow{Term: t.Key, Name: t.Name, Total: here.cell(func(seen) bool { return true }, only(group, t.Key), both(only(group, t.Key), faced(e)[0]))}
		if row.Total.N == 0 {
			continue
		}
		for _, column := range c.Columns {
			sort := Contact(column.Key)
			row.Cells = append(row.Cells, here.cell(func(b seen) bool { return b.contact == sort }, both(only(group, t.Key), sort.asks(e))))
		}
		row.Badly = here.badly(e, group, t.Key)
		c.Rows = append(c.Rows, row)
		rest := counted.where(func(b seen) bool { return !with(b) })
		against = append(against, compare.Rates(here.parts(e, badly), rest.parts(e, badly), seed))
	}
	compare.Adjust(against)
	for i := range against {
		row := &c.Rows[i]
		row.Against = verdictOf(against[i], compare.Words{Held: "went badly", A: "with " + row.Name, B: "with anything else"})
	}
	c.Unsaid = s.cell(func(b seen) bool { return !clear(b) }, narrow{uncoded: []string{group}})
	return c
}

// badly is a false shot: the other side of control, of shots played.
func badly(t Terms) verdict {
	switch v := controlPlayed.judge(t); v {
	case hit:
		return miss
	case miss:
		return hit
	default:
		return v
	}
}

// badly is how often it went badly on balls with a term.
func (s Set) badly(e vocabulary.Edition, group, term string) Rate {
	played := func(want ...verdict) func(seen) bool {
		return func(b seen) bool { return slices.Contains(want, badly(b.terms)) }
	}
	r := Rate{
		Key: "badly", Name: "Went badly", Means: "Anything but middled; of the balls at which a shot was played.",
		Of:   s.cell(played(hit, miss), both(only(group, term), only(groupContact, allBut(e, groupContact, termNone)...))),
		Hits: s.cell(played(hit), both(only(group, term), only(groupContact, allBut(e, groupContact, termNone, termMiddled)...))),
	}
	r.Share = r.Plain().Share()
	return r
}

// both asks for two things at once, of different groups.
func both(a, b narrow) narrow {
	n := narrow{has: map[string][]string{}}
	for _, part := range []narrow{a, b} {
		maps.Copy(n.has, part.has)
	}
	return n
}

// parts counts a rate for package compare: apart by session and by how the
// balls were fed.
func (s Set) parts(e vocabulary.Edition, judge func(Terms) verdict) []compare.Part {
	type key struct {
		session int64
		feed    string
	}
	at := map[key]int{}
	var list []compare.Part
	for _, b := range s.balls {
		v := judge(b.terms)
		if v != hit && v != miss {
			continue
		}
		k := key{b.SessionID, feedName(e, b.feed())}
		i, ok := at[k]
		if !ok {
			i = len(list)
			at[k] = i
			list = append(list, compare.Part{Session: k.session, Feed: k.feed})
		}
		list[i].Rate.Of++
		if v == hit {
			list[i].Rate.Hits++
		}
	}
	return list
}

// seed is of the bootstraps: the same balls always give the same figures.
const seed = 1979
