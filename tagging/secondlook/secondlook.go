// Package secondlook says how two codings of the same balls agree, group by
// group and term by term, and which terms may be trusted by it. It is pure: it
// must not know where codings are kept or how they are shown.
package secondlook

import (
	"fmt"
	"slices"

	"netreel/tagging"
	"netreel/tagging/compare"
	"netreel/tagging/vocabulary"
)

// Group is how two codings agree on one group of the vocabulary.
type Group struct {
	Key, Name string
	Ordered   bool
	Many      bool // several terms may hold: each is a yes or no, and there is no table

	// Of a group of which one term holds: balls on which both coders said one.
	Table compare.Table
	Cells [][][]int64 // balls of each cell of the table, by id
	Names []string    // of the table's terms

	OnlyFirst, OnlySecond []int64 // balls on which one of them said something
	Neither               []int64

	Alike         compare.Rate
	Kappa, AC     compare.Estimate
	KappaWeighted compare.Estimate // quadratic; of an ordered group
	ACWeighted    compare.Estimate
	Terms         []Term
}

// Term is how they agree on one term against all others.
type Term struct {
	compare.TermAgreement
	Name  string
	Trust compare.Trust
	// Balls, by id.
	InBoth, InFirst, InSecond []int64 // InFirst: the first coder alone
}

// Compare holds the two codings of finished looks against each other, over all
// balls that were done, group by group in the vocabulary's order. floor is the
// kappa from which a term may be trusted.
func Compare(looks []tagging.SecondLook, words vocabulary.Edition, floor float64) []Group {
	var out []Group
	for _, g := range words.Groups {
		var pairs []pair
		for _, k := range looks {
			if slices.Contains(k.Groups, g.Key) {
				pairs = append(pairs, pairsOf(k, g.Key)...)
			}
		}
		if len(pairs) > 0 {
			out = append(out, group(g, pairs, floor))
		}
	}
	return out
}

// pair is what both coders said of one group on one ball.
type pair struct {
	ball          int64
	first, second []string
}

func pairsOf(k tagging.SecondLook, key string) (out []pair) {
	for _, b := range k.Balls {
		if b.Done {
			out = append(out, pair{b.Ball.ID, b.First[key], b.Second[key]})
		}
	}
	return out
}

func group(g vocabulary.Group, pairs []pair, floor float64) Group {
	out := Group{Key: g.Key, Name: g.Name, Ordered: g.Ordered, Many: g.Many}
	for _, p := range pairs {
		switch {
		case len(p.first) == 0 && len(p.second) == 0:
			out.Neither = append(out.Neither, p.ball)
		case len(p.second) == 0:
			out.OnlyFirst = append(out.OnlyFirst, p.ball)
		case len(p.first) == 0:
			out.OnlySecond = append(out.OnlySecond, p.ball)
		}
	}
	if g.Many {
		out.yesAndNo(g, pairs, floor)
		return out
	}
	out.table(g, pairs)
	for i, a := range out.Table.ByTerm() {
		t := Term{TermAgreement: a, Name: out.Names[i], Trust: a.Trust(floor)}
		for j := range out.Cells {
			switch {
			case i == j:
				t.InBoth = out.Cells[i][i]
			default:
				t.InFirst = append(t.InFirst, out.Cells[i][j]...)
				t.InSecond = append(t.InSecond, out.Cells[j][i]...)
			}
		}
		out.Terms = append(out.Terms, t)
	}
	return out
}

// table counts the balls on which both said a term. Terms that neither used
// are left out of it.
func (out *Group) table(g vocabulary.Group, pairs []pair) {
	pairs = slices.DeleteFunc(slices.Clone(pairs), func(p pair) bool { return len(p.first) == 0 || len(p.second) == 0 })
	used := map[string]bool{}
	for _, p := range pairs {
		used[p.first[0]], used[p.second[0]] = true, true
	}
	at := map[string]int{}
	for _, t := range g.Terms {
		if used[t.Key] {
			at[t.Key] = len(out.Table.Terms)
			out.Table.Terms = append(out.Table.Terms, t.Key)
			out.Names = append(out.Names, t.Name)
		}
	}
	n := len(out.Table.Terms)
	for range n {
		out.Cells = append(out.Cells, make([][]int64, n))
		out.Table.Cells = append(out.Table.Cells, make([]int, n))
	}
	for _, p := range pairs {
		i, j := at[p.first[0]], at[p.second[0]]
		out.Cells[i][j] = append(out.Cells[i][j], p.ball)
		out.Table.Cells[i][j]++
	}
	out.Alike = out.Table.Alike()
	out.Kappa, out.AC = out.Table.Kappa(compare.Same), out.Table.AC(compare.Same)
	if g.Ordered {
		out.KappaWeighted, out.ACWeighted = out.Table.Kappa(compare.Quadratic), out.Table.AC(compare.Quadratic)
	}
}

// yesAndNo takes each term as a yes or no on every ball: saying nothing is
// saying that none holds.
func (out *Group) yesAndNo(g vocabulary.Group, pairs []pair, floor float64) {
	for _, term := range g.Terms {
		t := Term{Name: term.Name}
		for _, p := range pairs {
			one, two := slices.Contains(p.first, term.Key), slices.Contains(p.second, term.Key)
			switch {
			case one && two:
				t.InBoth = append(t.InBoth, p.ball)
			case one:
				t.InFirst = append(t.InFirst, p.ball)
			case two:
				t.InSecond = append(t.InSecond, p.ball)
			}
		}
		both := len(t.InBoth)
		if both+len(t.InFirst)+len(t.InSecond) == 0 {
			continue
		}
		t.TermAgreement = compare.YesNo(term.Key, both, both+len(t.InFirst), both+len(t.InSecond), len(pairs))
		t.Trust = t.TermAgreement.Trust(floor)
		out.Terms = append(out.Terms, t)
	}
	// Of the balls, those on which every term was answered alike.
	out.Alike.Of = len(pairs)
	for _, p := range pairs {
		if sameTerms(p.first, p.second) {
			out.Alike.Hits++
		}
	}
}

func sameTerms(a, b []string) bool {
	a, b = slices.Sorted(slices.Values(a)), slices.Sorted(slices.Values(b))
	return slices.Equal(a, b)
}

// Text says in words how the codings of the group agree.
func (out Group) Text() string {
	switch {
	case out.Alike.Of == 0:
		return "There is no ball on which both said something."
	case out.Many:
		return fmt.Sprintf("The same on %d of %d balls.", out.Alike.Hits, out.Alike.Of)
	case !out.Kappa.Known():
		return fmt.Sprintf("The same on %d of %d balls; beyond chance it is %s.", out.Alike.Hits, out.Alike.Of, out.Kappa.Gap)
	}
	within := fmt.Sprintf(" (%.2f to %.2f)", out.Kappa.Low, out.Kappa.High)
	if out.Kappa.Low == out.Kappa.High { // one coder used one term: chance explains it whatever the other said
		within = ""
	}
	return fmt.Sprintf("The same on %d of %d balls; beyond chance %.2f%s, where 1 is perfect and 0 is what chance gives.",
		out.Alike.Hits, out.Alike.Of, out.Kappa.Value, within)
}
