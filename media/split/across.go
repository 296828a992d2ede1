package split

import (
	"cmp"
	"math"
	"slices"
)

// Of nets side by side that are seen from behind the arm, each has its own ground left
// or right of the others', and the one that is filmed lies nearest to the middle of the
// picture.
const acrossApart = 25.0 // pixels between the bounces of two nets, at least

// partAcross finds the middle net's ground where balls bounce on more than one, else nil.
func (s *session) partAcross(list []bounce) *nets {
	sorted := slices.Clone(list)
	slices.SortFunc(sorted, func(a, b bounce) int { return cmp.Compare(a.across(), b.across()) })
	wide, _ := eyeSize(s.probe.Width, s.probe.Height)
	var own []bounce
	nearest := math.Inf(1)
	for from, to := 0, 0; from < len(sorted); from = to {
		for to = from + 1; to < len(sorted) && sorted[to].across()-sorted[to-1].across() < acrossApart; to++ {
		}
		if off := math.Abs(touchedAt(sorted[from:to]) - float64(wide)/2); to-from >= bounceTells && off < nearest {
			own, nearest = sorted[from:to], off
		}
	}
	if own == nil || len(own) == len(list) {
		return nil
	}
	n := &nets{near: oneEach(own)}
	n.far = slices.DeleteFunc(slices.Clone(list), func(b bounce) bool { return slices.Contains(own, b) })
	return n
}

// across is how far right in the picture a bounce lies.
func (b bounce) across() float64 {
	x, _ := b.touch()
	return x
}

// ownAcross leaves of flights those that end nearer to where the own net's balls bounce
// than to where another's do.
func (n *nets) ownAcross(flights []arc) []arc {
	off := func(list []bounce, a arc) float64 {
		least := math.Inf(1)
		for _, b := range list {
			least = min(least, math.Abs(b.across()-a.to.x))
		}
		return least
	}
	return slices.DeleteFunc(slices.Clone(flights), func(a arc) bool { return off(n.far, a) < off(n.near, a) })
}
