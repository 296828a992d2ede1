package compare

import (
	"cmp"
	"maps"
	"math/rand/v2"
	"slices"
)

// Item is a ball that may be drawn, and the stratum that it belongs to: so
// many balls of a stratum, so many of the sample.
type Item struct {
	ID      int64
	Stratum string
}

// Draw takes n of the items at random so that every stratum has its share:
// proportional, by largest remainder, and one of each stratum first where n
// suffices, so that rare ones are looked at too. The order drawn is random as
// well, so that it gives nothing away. The same seed and items, in any order,
// give the same sample; fewer items than n are all taken.
func Draw(items []Item, n int, seed uint64) []int64 {
	items = slices.Clone(items)
	slices.SortFunc(items, func(a, b Item) int { return cmp.Compare(a.ID, b.ID) })
	items = slices.CompactFunc(items, func(a, b Item) bool { return a.ID == b.ID })
	luck := rand.New(rand.NewPCG(seed, uint64(len(items))))
	luck.Shuffle(len(items), func(i, j int) { items[i], items[j] = items[j], items[i] })
	byStratum := map[string][]int64{}
	for _, it := range items {
		byStratum[it.Stratum] = append(byStratum[it.Stratum], it.ID)
	}
	var drawn []int64
	for stratum, size := range allot(byStratum, min(max(n, 0), len(items))) {
		drawn = append(drawn, byStratum[stratum][:size]...)
	}
	slices.Sort(drawn) // maps have no order, and the sample must have one
	luck.Shuffle(len(drawn), func(i, j int) { drawn[i], drawn[j] = drawn[j], drawn[i] })
	return drawn
}

// allot says how many of n each stratum gives; n is at most the items there are.
func allot(strata map[string][]int64, n int) map[string]int {
	names := slices.Sorted(maps.Keys(strata))
	// The largest first, so that they are served when n is less than the strata.
	slices.SortStableFunc(names, func(a, b string) int { return cmp.Compare(len(strata[b]), len(strata[a])) })
	size, all := map[string]int{}, 0
	for _, s := range names {
		all += len(strata[s])
	}
	left := n
	for _, s := range names {
		if left > 0 {
			size[s]++
			left--
		}
	}
	// What each is still short of its share, one ball at a time to the shortest.
	for ; left > 0; left-- {
		best, most := -1, 0.0
		for i, s := range names {
			short := float64(n*len(strata[s]))/float64(all) - float64(size[s])
			if size[s] < len(strata[s]) && (best < 0 || short > most) {
				best, most = i, short
			}
		}
		size[names[best]]++
	}
	return size
}
