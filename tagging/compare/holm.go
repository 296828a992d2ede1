package compare

import (
	"cmp"
	"math"
	"slices"
)

// Holm adjusts the chances of several comparisons that are looked at together,
// so that all of them may be held against 1 - Level (S. Holm 1979, Scandinavian
// Journal of Statistics 6:65-70). Those that are missing stay so and do not
// count.
func Holm(chances []Figure) []Figure {
	out := slices.Clone(chances)
	var order []int
	for i, c := range chances {
		if c.Known() {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(chances[i].Value, chances[j].Value) })
	highest := 0.0
	for rank, i := range order {
		highest = math.Max(highest, float64(len(order)-rank)*chances[i].Value)
		out[i].Value = math.Min(1, highest)
	}
	return out
}

// adjust is Holm with the number of comparisons that counted, at least 1.
func adjust(chances []Figure) ([]Figure, int) {
	n := 0
	for _, c := range chances {
		n += one(c.Known())
	}
	return Holm(chances), max(1, n)
}
