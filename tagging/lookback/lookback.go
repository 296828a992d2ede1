// Package lookback puts coded balls into numbers: what a session showed, how
// two sets of balls differ, how a player comes on. Every number is a Cell: a
// count, and the question (package find) that opens exactly the balls counted.
//
// It is pure: it counts what it is handed. It must not know where balls are
// kept, and does no statistics of its own: those are package compare's.
package lookback

import (
	"maps"
	"slices"

	"netreel/tagging/find"
)

// Terms is what was said of a ball: group key to term keys.
type Terms map[string][]string

// has says whether any of some terms of a group was seen.
func (t Terms) has(group string, terms ...string) bool {
	return slices.ContainsFunc(t[group], func(seen string) bool { return slices.Contains(terms, seen) })
}

// Ball is what a look-back reads of a ball.
type Ball struct {
	ID, SessionID, BlockID, PlayerID int64
	Number                           int             // in its session
	By                               map[int64]Terms // what each coder said who spoke of it
	Given                            Terms           // what its block says, where nobody spoke of the group

	// Measured is what was accepted as measured on it, by key of measure; the
	// mean where several cameras were measured off.
	Measured map[string]float64
}

// Set is balls in the order in which they were played, and the question that
// finds exactly them.
type Set struct {
	Question find.Question
	Coder    int64 // whose terms count; 0 for everybody's together
	balls    []seen
	index    *index // of all balls that the question finds; balls may be some of them
}

// seen is a ball as the chosen coder sees it.
type seen struct {
	Ball
	at     int   // its place among all that the question finds
	terms  Terms // the chosen coder's
	all    Terms // everybody's, and what the block gives
	said   Terms // everybody's alone
	spoken bool  // the chosen coder, or anybody, spoke of it

	contact Contact // what the terms come to
	split   bool    // two coders dispute the contact
	action  Action
}

// NewSet makes a set of what a question has found. Coder 0 takes what all
// coders of the question said together.
func NewSet(q find.Question, balls []Ball, coder int64) Set {
	list := make([]seen, len(balls))
	for i, b := range balls {
		said := b.together(q.Coders)
		all := said
		if len(q.Coders) == 0 && len(b.Given) > 0 {
			all = maps.Clone(said)
			for g, terms := range b.Given {
				if len(all[g]) == 0 {
					all[g] = terms
				}
			}
		}
		s := seen{Ball: b, terms: all, all: all, said: said, spoken: len(b.By) > 0}
		if coder != 0 {
			s.terms = b.By[coder]
			_, s.spoken = b.By[coder]
		}
		s.contact, s.split = s.terms.contact()
		s.action = s.terms.action()
		list[i] = s
	}
	return newSet(q, list, coder)
}

func newSet(q find.Question, balls []seen, coder int64) Set {
	for i := range balls {
		balls[i].at = i
	}
	return Set{Question: q.Normal(), Coder: coder, balls: balls, index: newIndex(balls)}
}

// together is what some coders said of a ball; without any, everybody.
func (b Ball) together(coders []int64) Terms {
	all := Terms{}
	for _, coder := range slices.Sorted(maps.Keys(b.By)) {
		if len(coders) > 0 && !slices.Contains(coders, coder) {
			continue
		}
		for g, terms := range b.By[coder] {
			for _, t := range terms {
				if !slices.Contains(all[g], t) {
					all[g] = append(all[g], t)
				}
			}
		}
	}
	return all
}

// Len is how many balls a set has.
func (s Set) Len() int { return len(s.balls) }

// of is the balls of a set in a block, as a set of its own.
func (s Set) of(block int64) Set {
	q := s.Question
	q.Blocks = []int64{block}
	return newSet(q, s.where(func(b seen) bool { return b.BlockID == block }).balls, s.Coder)
}

// where is some of a set's balls, counted as part of it.
func (s Set) where(in func(seen) bool) Set {
	some := make([]seen, 0, len(s.balls))
	for _, b := range s.balls {
		if in(b) {
			some = append(some, b)
		}
	}
	s.balls = some
	return s
}

// Cell is a number and what opens the balls behind it.
type Cell struct {
	N        int
	Question string // as find.Question prints it; "" without balls, or with more than a question can name
}

// narrow is what a question asks beside that of its set.
type narrow struct {
	has, not map[string][]string
	uncoded  []string
	measured string // key of a measure that was taken; "" for none
}

// only asks for some terms of a group.
func only(group string, terms ...string) narrow {
	return narrow{has: map[string][]string{group: terms}}
}

// cell counts the balls of a set that are in. Of the questions that might open
// them, in the order given, the first that finds exactly these is taken: a
// question goes on finding balls when more are coded. Else it names the balls.
func (s Set) cell(in func(seen) bool, might ...narrow) Cell {
	var ids []int64
	inside := newBits(s.index.balls)
	for _, b := range s.balls {
		if in(b) {
			inside.set(b.at)
			ids = append(ids, b.ID)
		}
	}
	c := Cell{N: len(ids)}
	if len(ids) == 0 {
		return c
	}
	if len(ids) == s.index.balls {
		might = append(might, narrow{})
	}
	for _, n := range might {
		q, ok := n.within(s.Question)
		if !ok {
			continue
		}
		if slices.Equal(s.index.everybody.fit(q), inside) {
			c.Question = q.String()
			return c
		}
		if s.Coder == 0 || len(q.Coders) > 0 {
			continue
		}
		if slices.Equal(s.index.chosen.fit(q), inside) {
			q.Coders = []int64{s.Coder}
			c.Question = q.String()
			return c
		}
	}
	if len(ids) <= find.MaxBalls {
		c.Question = find.Question{Balls: ids}.String()
	}
	return c
}

// within puts what is asked further into a question. It is not ok when the two
// can't both hold.
func (n narrow) within(q find.Question) (find.Question, bool) {
	q.Has, q.Not = maps.Clone(q.Has), maps.Clone(q.Not)
	if q.Has == nil {
		q.Has = map[string][]string{}
	}
	if q.Not == nil {
		q.Not = map[string][]string{}
	}
	for g, terms := range n.has {
		if asked := q.Has[g]; len(asked) > 0 {
			terms = slices.DeleteFunc(slices.Clone(terms), func(t string) bool { return !slices.Contains(asked, t) })
		}
		if len(terms) == 0 || len(terms) > find.MaxChoices {
			return q, false
		}
		q.Has[g] = terms
	}
	for g, terms := range n.not {
		q.Not[g] = append(slices.Clone(q.Not[g]), terms...)
	}
	q.Uncoded = append(slices.Clone(q.Uncoded), n.uncoded...)
	if _, asked := q.Measured[n.measured]; n.measured != "" && !asked {
		if q.Measured = maps.Clone(q.Measured); q.Measured == nil {
			q.Measured = map[string]find.Range{}
		}
		q.Measured[n.measured] = find.Range{}
	}
	return q, true
}

// Coders lists who spoke of the balls, with how many; who spoke of most comes
// first, and the smaller number of two alike.
func Coders(balls []Ball) []Coder {
	n := map[int64]int{}
	for _, b := range balls {
		for coder, terms := range b.By {
			if len(terms) > 0 {
				n[coder]++
			}
		}
	}
	list := make([]Coder, 0, len(n))
	for id, balls := range n {
		list = append(list, Coder{ID: id, Balls: balls})
	}
	slices.SortFunc(list, func(a, b Coder) int {
		if a.Balls != b.Balls {
			return b.Balls - a.Balls
		}
		return int(a.ID - b.ID)
	})
	return list
}

// Coder is who coded balls of a session, and how many.
type Coder struct {
	ID    int64
	Name  string // where it is known
	Balls int
}
