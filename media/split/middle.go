package split

import (
	"cmp"
	"math"
	"slices"
	"sort"
)

// Who is filmed stands about the middle of the picture, from left to right. Where
// other nets' batters are seen as well, that tells whose ball it is.
const (
	middleMost  = 0.125 // of the picture's width: who is filmed stands no farther from its middle
	middleMoves = 0.17  // of it: what moves at contact lies no farther, all in all
	swingBefore = 0.15  // s before a sound in which the swing is seen that makes it,
	swingAfter  = 0.1   // and after
	swingGrain  = 0.1   // s between two moments with which that is compared
	swingRare   = 0.93  // share of all moments in which less moves: a swing
	swingSure   = 0.8   // probability that a sound starts with if one is seen,
	swingNot    = 0.1   // and if not
	startsMost  = 6     // places to start from

	middleX = 0.5 // where it is, as a share of the width
)

// starts gives for the places about the middle at which swings are seen most often at
// the onsets heard, the best first, how likely each of these is at first to be the
// session's bat.
func (s *session) starts(e *eye, heard []int) [][]float64 {
	rare := s.usualSwings(e, swingGrain, swingRare, func(float64) bool { return false })
	swings := make([][]float64, len(heard))
	for k, i := range heard {
		swings[k] = s.viewOf(s.onsets[i].at).swing(s.onsets[i].at)
	}
	count := make([]int, e.cells())
	var order []int
	for c := range count {
		if math.Abs(e.aside(c)) < middleMost {
			order = append(order, c)
		}
		for k := range heard {
			if swings[k][c] > rare[c] {
				count[c]++
			}
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(count[b], count[a]) })
	var out [][]float64
	for _, c := range order[:min(startsMost, len(order))] {
		p := make([]float64, len(heard))
		for k := range heard {
			if p[k] = swingNot; swings[k][c] > rare[c] {
				p[k] = swingSure
			}
		}
		out = append(out, p)
	}
	return out
}

// usualSwings is for each cell how much moves in it at most at such a share of the moments
// watched, so many seconds apart, but for those that are left out.
func (s *session) usualSwings(e *eye, grain, share float64, leftOut func(t float64) bool) []float64 {
	all := make([][]float64, e.cells())
	for v, t := range s.watched(grain) {
		if leftOut(t) {
			continue
		}
		for c, moved := range v.swing(t) {
			all[c] = append(all[c], moved)
		}
	}
	out := make([]float64, len(all))
	for c, list := range all {
		if slices.Sort(list); len(list) > 0 {
			out[c] = list[int(share*float64(len(list)))]
		}
	}
	return out
}

// swing is how much moves in each cell when a bat is swung that is heard at t.
func (v *view) swing(t float64) []float64 {
	out := make([]float64, v.cells)
	from, to := sort.SearchFloat64s(v.times, t-swingBefore), sort.SearchFloat64s(v.times, t+swingAfter)
	for k := from; k < to; k++ {
		for c, b := range v.rows[k*v.channels:][:v.cells] {
			out[c] += float64(b) / float64(to-from)
		}
	}
	return out
}

// aside is how far a cell lies from the picture's middle, left or right, as a share of
// its width.
func (e *eye) aside(cell int) float64 {
	return (float64(cell%e.across)+0.5)/float64(e.across) - middleX
}

// central says whether what moves at contact lies about the middle of the picture.
func (e *eye) central(seen *sight) bool {
	off, ok := e.offset(seen)
	return ok && math.Abs(off) < middleMoves
}

// offset is how far what moves at contact lies from the picture's middle, all in all, left
// or right, as a share of its width; ok if anything does.
func (e *eye) offset(seen *sight) (off float64, ok bool) {
	var all float64
	for c, weight := range seen.shotCells(e.cells()) {
		off += weight * weight * e.aside(c)
		all += weight * weight
	}
	return off / max(all, 1e-12), all > 0
}
