package lookback

import (
	"netreel/media/laws"
	"netreel/tagging/vocabulary"
)

// Zone is where on the pitch a word lies: metres, half-open [From, To).
// Lengths are from the striker's stumps towards the bowler, lines from the
// middle stump to the off side.
type Zone struct {
	Term     string
	From, To float64
}

// Scheme is a table of zones, with its source. There is no standard, and
// published ones conflict: what was coded is a word, and a scheme only says
// where to draw it.
type Scheme struct {
	Key, Name, Source string
	Zones             []Zone
}

// LengthSchemes are the tables of lengths that a pitch map may be drawn by, the
// usual one first.
func LengthSchemes() []Scheme {
	return []Scheme{
		{
			"pace", "Pace, as broadcast", "Common practice, from memory; no source.",
			[]Zone{{"yorker", 0, 2}, {"full", 2, 6}, {"good", 6, 8}, {"back-of-length", 8, 10}, {"short", 10, 14}},
		},
		{
			"callaghan-2019", "Pace, Callaghan and others 2019", "S. J. Callaghan et al. 2019, Sports 7(9):200: full, good and short only.",
			[]Zone{{"full", 0, 4}, {"good", 4, 7}, {"short", 7, 10}},
		},
		{
			"spin", "Spin", "Common practice, from memory; no source.",
			[]Zone{{"yorker", 0, 1.6}, {"full", 1.6, 3.4}, {"good", 3.4, 5}, {"back-of-length", 5, 6.6}, {"short", 6.6, 9}},
		},
	}
}

// Lines is where lines are drawn (common practice, from memory; no source: the
// stumps are 0.114 m to each side of the middle).
func Lines() Scheme {
	return Scheme{"lines", "Lines", "Common practice, from memory; no source.", []Zone{
		{"outside-leg", -0.6, -0.15}, {"leg-stump", -0.15, -0.05}, {"middle", -0.05, 0.05},
		{"off-stump", 0.05, 0.15}, {"outside-off", 0.15, 0.55}, {"wide-off", 0.55, 1},
	}}
}

// PitchMap is length against line.
type PitchMap struct {
	Laws    laws.Edition
	Columns []Column // sorts of contact
	Cells   []PitchCell
	Unsaid  Cell // balls of which length or line is not coded
}

// PitchCell is the balls of one length and line, by contact.
type PitchCell struct {
	Length, Line string
	Name         string // "Good length, outside off"
	Total        Cell
	By           []Cell // one for each column; balls whose contact is not known are in none
}

func (s Set) pitch(e vocabulary.Edition) PitchMap {
	m := PitchMap{Laws: laws.Code2017(), Columns: contacts(e, s)}
	known := func(b seen) bool { return len(b.terms[groupLength]) == 1 && len(b.terms[groupLine]) == 1 }
	for _, length := range terms(e, groupLength) {
		long := s.where(func(b seen) bool { return known(b) && b.terms.has(groupLength, length.Key) })
		for _, line := range terms(e, groupLine) {
			here := long.where(func(b seen) bool { return b.terms.has(groupLine, line.Key) })
			if here.Len() == 0 {
				continue
			}
			ask := both(only(groupLength, length.Key), only(groupLine, line.Key))
			c := PitchCell{Length: length.Key, Line: line.Key, Name: length.Name + ", " + line.Name}
			c.Total = here.cell(func(seen) bool { return true }, ask)
			for _, column := range m.Columns {
				c.By = append(c.By, here.cell(func(b seen) bool { return string(b.contact) == column.Key }, both(ask, Contact(column.Key).asks(e))))
			}
			m.Cells = append(m.Cells, c)
		}
	}
	m.Unsaid = s.cell(func(b seen) bool { return !known(b) }, narrow{uncoded: []string{groupLength}}, narrow{uncoded: []string{groupLine}})
	return m
}

// sectors are the directions of the terms of placement, degrees from straight
// back to the bowler, positive on the off side (common practice, no source).
var sectors = map[string][2]float64{
	"straight": {-8, 8}, "mid-off": {8, 30}, "cover": {30, 65}, "point": {65, 110}, "third": {110, 172},
	"mid-on": {-30, -8}, "midwicket": {-65, -30}, "square-leg": {-110, -65}, "fine-leg": {-172, -110},
}

// Place is where balls went.
type Place struct {
	Term, Name string
	From, To   float64 // degrees, see sectors; both 0 for a term that a squad added
	Total      Cell
	Middled    Cell
	Scored     Cell // runs or a boundary
}

func (s Set) places(e vocabulary.Edition) []Place {
	var list []Place
	for _, t := range terms(e, groupPlacement) {
		here := s.where(func(b seen) bool { return len(b.terms[groupPlacement]) == 1 && b.terms.has(groupPlacement, t.Key) })
		ask := only(groupPlacement, t.Key)
		p := Place{Term: t.Key, Name: t.Name, From: sectors[t.Key][0], To: sectors[t.Key][1]}
		p.Total = here.cell(func(seen) bool { return true }, ask)
		p.Middled = here.cell(func(b seen) bool { return b.contact == Middled }, both(ask, only(groupContact, termMiddled)))
		p.Scored = here.cell(func(b seen) bool { return b.terms.has(groupResult, termRun, termBoundary) },
			both(ask, only(groupResult, termRun, termBoundary)))
		if p.From != p.To || p.Total.N > 0 {
			list = append(list, p)
		}
	}
	return list
}
