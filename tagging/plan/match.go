package plan

import "slices"

// Unseen is the type of a delivered ball of which nobody said what it was.
const Unseen = -1

// Match is a planned ball, a delivered one, or both together. Planned and
// Delivered count from 0 in their own order.
type Match struct {
	Planned   int  // -1: an extra ball that nobody planned
	Delivered int  // -1: a planned ball that was not given
	Slip      bool // both, but what was seen is of another type than was planned
	Sure      bool // both, and no other alignment is as good
}

// Costs of an alignment. A slip costs less than leaving one ball out and
// putting another in; two slips in a row cost more, so that one ball too many
// or too few is found rather than read as slips for ever after.
const (
	slipCost = 5
	gapCost  = 4
)

// Align matches the balls that were planned with those that were delivered,
// both in order, so that slips, extra balls and dropped ones together cost
// least. seen has the type of each delivered ball, or Unseen. Where several
// alignments are as good, an earlier planned ball is matched rather than a
// later one, and none of the balls that they match differently is Sure.
func Align(planned Sequence, seen []int) []Match {
	n, m := len(planned), len(seen)
	there, reversed := costs(planned, seen), costs(backwards(planned), backwards(seen))
	back := func(i, j int) int { return reversed[n-i][m-j] } // of the balls from here on
	best := there[n][m]
	paired := func(i, j int) bool {
		return there[i][j]+price(planned[i], seen[j])+back(i+1, j+1) == best
	}
	sure := func(i, j int) bool {
		for other := range n {
			if other != i && paired(other, j) {
				return false
			}
		}
		for at := range n + 1 { // or might the ball be an extra one?
			if there[at][j]+gapCost+back(at, j+1) == best {
				return false
			}
		}
		return true
	}
	var out []Match
	for i, j := 0, 0; i < n || j < m; {
		switch {
		case i < n && j < m && paired(i, j):
			out = append(out, Match{i, j, seen[j] != Unseen && seen[j] != planned[i], sure(i, j)})
			i, j = i+1, j+1
		case i < n && there[i][j]+gapCost+back(i+1, j) == best:
			out = append(out, Match{Planned: i, Delivered: -1})
			i++
		default:
			out = append(out, Match{Planned: -1, Delivered: j})
			j++
		}
	}
	return out
}

// costs gives for each i and j what the first i planned and the first j
// delivered balls cost at least.
func costs(planned Sequence, seen []int) [][]int {
	rows := make([][]int, len(planned)+1)
	for i := range rows {
		rows[i] = make([]int, len(seen)+1)
		for j := range rows[i] {
			switch {
			case i == 0 || j == 0:
				rows[i][j] = (i + j) * gapCost
			default:
				rows[i][j] = min(rows[i-1][j-1]+price(planned[i-1], seen[j-1]), rows[i-1][j]+gapCost, rows[i][j-1]+gapCost)
			}
		}
	}
	return rows
}

func price(planned, seen int) int {
	if seen == Unseen || seen == planned {
		return 0
	}
	return slipCost
}

func backwards[S ~[]int](list S) S {
	out := slices.Clone(list)
	slices.Reverse(out)
	return out
}

// SeenAs is which of a block's types a delivered ball was, by what was coded
// of it ("" where nothing was): Unseen when that does not tell, the number of
// types when none of them fits.
func SeenAs(types []Type, length, line, height string) int {
	found, said := len(types), false
	for i, t := range types {
		fits := true
		for _, of := range [][2]string{{t.Length, length}, {t.Line, line}, {t.Height, height}} {
			if of[0] != "" && of[1] != "" {
				said = true
				fits = fits && of[0] == of[1]
			}
		}
		switch {
		case !fits:
		case found < len(types):
			return Unseen // more than one fits
		default:
			found = i
		}
	}
	if !said {
		return Unseen
	}
	return found
}
