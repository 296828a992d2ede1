package plan

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
	matches, _ := alignment{planned, seen, func(int, int) int { return 0 }, func(int) int { return gapCost }}.best()
	return matches
}

// alignment is what is to be aligned. far prices what else speaks against a
// planned and a delivered ball being one, missing that a planned one is not
// there.
type alignment struct {
	planned Sequence
	seen    []int
	far     func(planned, delivered int) int
	missing func(planned int) int
}

// best is the alignment that costs least, and what that is.
func (a alignment) best() ([]Match, int) {
	n, m := len(a.planned), len(a.seen)
	there := costs(n, m, a.price, a.missing)
	reversed := costs(n, m, func(i, j int) int { return a.price(n-1-i, m-1-j) }, func(i int) int { return a.missing(n - 1 - i) })
	back := func(i, j int) int { return reversed[n-i][m-j] } // of the balls from here on
	best := there[n][m]
	paired := func(i, j int) bool {
		return there[i][j]+a.price(i, j)+back(i+1, j+1) == best
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
			out = append(out, Match{i, j, a.slip(i, j), sure(i, j)})
			i, j = i+1, j+1
		case i < n && there[i][j]+a.missing(i)+back(i+1, j) == best:
			out = append(out, Match{Planned: i, Delivered: -1})
			i++
		default:
			out = append(out, Match{Planned: -1, Delivered: j})
			j++
		}
	}
	return out, best
}

func (a alignment) slip(i, j int) bool { return a.seen[j] != Unseen && a.seen[j] != a.planned[i] }

func (a alignment) price(i, j int) int {
	if a.slip(i, j) {
		return slipCost + a.far(i, j)
	}
	return a.far(i, j)
}

// costs gives for each i and j what the first i planned and the first j
// delivered balls cost at least, when pairs and missing ones have prices.
func costs(planned, delivered int, price func(i, j int) int, missing func(i int) int) [][]int {
	rows := make([][]int, planned+1)
	for i := range rows {
		rows[i] = make([]int, delivered+1)
		for j := range rows[i] {
			switch {
			case i == 0:
				rows[i][j] = j * gapCost
			case j == 0:
				rows[i][j] = rows[i-1][j] + missing(i-1)
			default:
				rows[i][j] = min(rows[i-1][j-1]+price(i-1, j-1), rows[i-1][j]+missing(i-1), rows[i][j-1]+gapCost)
			}
		}
	}
	return rows
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
