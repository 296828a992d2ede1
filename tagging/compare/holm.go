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

// Tested is the chance that a test gave a comparison, and what is left of it
// when other comparisons are looked at beside it.
type Tested struct {
	Chance   Figure
	Adjusted Figure // Chance after Holm; see Adjust
	Among    int    // comparisons that it was adjusted among; 1 alone
}

func alone(chance Figure) Tested { return Tested{chance, chance, 1} }

func (t *Tested) tested() *Tested { return t }

// Adjust allows for comparisons, of rates or of means, being looked at
// together: it fills Adjusted and Among of each.
func Adjust[C any, P interface {
	*C
	tested() *Tested
}](together []C) {
	chances, among := make([]Figure, len(together)), 0
	for i := range together {
		chances[i] = P(&together[i]).tested().Chance
		among += one(chances[i].Known())
	}
	for i, f := range Holm(chances) {
		t := P(&together[i]).tested()
		t.Adjusted, t.Among = f, max(1, among)
	}
}
