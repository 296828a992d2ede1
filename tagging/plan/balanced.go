package plan

import (
	"fmt"
	"slices"
	"strings"
)

// Williams gives the rows of a Williams square for n types (Williams 1949,
// Australian Journal of Scientific Research A 2:149-168): in the rows taken
// together each type stands in each place equally often, and comes straight
// after each other type equally often. Even n has n rows, odd n twice as many.
func Williams(n int) [][]int {
	first := make([]int, n)
	low, high := 1, n-1
	for i := 1; i < n; i++ {
		if i%2 == 1 {
			first[i] = low
			low++
		} else {
			first[i] = high
			high--
		}
	}
	rows := make([][]int, 0, 2*n)
	for add := range n {
		row := make([]int, n)
		for i, v := range first {
			row[i] = (v + add) % n
		}
		rows = append(rows, row)
	}
	if n%2 == 1 && n > 1 {
		for _, row := range slices.Clone(rows) {
			back := slices.Clone(row)
			slices.Reverse(back)
			rows = append(rows, back)
		}
	}
	return rows
}

// tries is how often an order is drawn anew when its limit on balls alike in a
// row is not met by chance.
const tries = 10_000

// rounds strings rows of a Williams square together, types and rows shuffled.
// Where the rounds are not whole squares, the last rows of one are missing.
func (w Wish) rounds() (Sequence, error) {
	k, n := len(w.Counts), w.Counts[0]
	if k < 2 || slices.Min(w.Counts) != slices.Max(w.Counts) {
		return nil, infeasible("Rounds need two types or more with equally many balls of each: %d of each would do, or choose random order.",
			max(1, sum(w.Counts)/k))
	}
	d := newDice(w.Seed)
	for range tries {
		names := make([]int, k)
		for t := range names {
			names[t] = t
		}
		shuffle(d, names)
		rows := Williams(k)
		shuffle(d, rows)
		var out Sequence
		for round := range n {
			for _, t := range rows[round%len(rows)] {
				out = append(out, names[t])
			}
		}
		if w.Alike == 0 || FactsOf(out, k).Longest <= w.Alike {
			return out, nil
		}
	}
	return nil, infeasible("Rounds of %d types end and begin with the same type at times. Allow 2 alike in a row, or choose random order.", k)
}

// PairLengths are the numbers of balls for which every ordered pair of so many
// types can occur equally often: a whole number of times each pair, and one
// ball more to begin with. With alike, a type may follow itself.
func PairLengths(types int, alike bool) []int {
	each := types * (types - 1)
	if alike {
		each += types
	}
	var out []int
	for n := each + 1; each > 0 && n <= MaxBalls; n += each {
		out = append(out, n)
	}
	return out
}

// pairs draws uniformly from all sequences in which each ordered pair occurs
// equally often; they begin and end with the type that has one ball more. Such a sequence is a circuit that uses every arc of the
// complete directed graph on the types so often; for one time each, with a
// type after itself allowed, it is a de Bruijn sequence of order 2. By the
// theorem of de Bruijn, van Aardenne-Ehrenfest, Smith and Tutte (1951) a
// circuit that begins at a root is the same as a tree of last exits towards
// the root and an order of the other exits of each type; so a tree is drawn
// uniformly (Wilson 1996, STOC, 296-303), then the orders.
func (w Wish) pairs() (Sequence, error) {
	k, n, alike := len(w.Counts), sum(w.Counts), w.Alike != 1
	lengths := PairLengths(k, alike)
	most := slices.Max(w.Counts)
	root := slices.Index(w.Counts, most)
	if k < 2 || !slices.Contains(lengths, n) || (n-1)/k != most-1 || slices.Min(w.Counts) != most-1 {
		return nil, infeasible("%s", pairsInstead(k, lengths))
	}
	each := (n - 1) / (k * (k - 1))
	if alike {
		each = (n - 1) / (k * k)
	}
	d := newDice(w.Seed)
	for range tries {
		out := d.circuit(k, root, each, alike)
		if w.Alike == 0 || FactsOf(out, k).Longest <= w.Alike {
			return out, nil
		}
	}
	return nil, infeasible("No order was found with every pair equally often and no more than %d alike in a row. Allow more alike, or none.", w.Alike)
}

func pairsInstead(types int, lengths []int) string {
	if types < 2 {
		return "Pairs need two types or more. Add a type, or choose another order."
	}
	ways := make([]string, len(lengths))
	for i, n := range lengths {
		ways[i] = fmt.Sprintf("%d of each and one more of one (%d balls)", n/types, n)
	}
	return fmt.Sprintf("Every pair of %d types equally often needs %s. Change the numbers, or choose random order.",
		types, strings.Join(ways, ", or "))
}

// circuit draws an Eulerian circuit from a root that uses each arc so many
// times, as the types it passes.
func (d dice) circuit(types, root, each int, loops bool) Sequence {
	parent := d.tree(types, root)
	exits := make([][]int, types)
	for from := range types {
		for to := range types {
			if to != from || loops {
				exits[from] = append(exits[from], slices.Repeat([]int{to}, each)...)
			}
		}
		if from != root { // the last exit is the tree's
			at := slices.Index(exits[from], parent[from])
			exits[from] = slices.Delete(exits[from], at, at+1)
		}
		shuffle(d, exits[from])
		if from != root {
			exits[from] = append(exits[from], parent[from])
		}
	}
	out, at := Sequence{root}, root
	for len(exits[at]) > 0 {
		to := exits[at][0]
		exits[at] = exits[at][1:]
		out = append(out, to)
		at = to
	}
	return out
}

// tree draws a tree towards the root uniformly, by walks whose loops are
// forgotten.
func (d dice) tree(types, root int) []int {
	parent, in := make([]int, types), make([]bool, types)
	in[root] = true
	for start := range types {
		for at := start; !in[at]; at = parent[at] {
			parent[at] = (at + 1 + d.intN(types-1)) % types
		}
		for at := start; !in[at]; at = parent[at] {
			in[at] = true
		}
	}
	return parent
}
