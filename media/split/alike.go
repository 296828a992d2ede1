package split

import (
	"math"
	"sort"
)

// sighting is a stretch laid out in steps, each cell's own median taken off.
type sighting struct {
	view *view
	at   float64
	rows [][]float32 // from gridFrom-discoverSlack to gridTo+discoverSlack
}

func newSighting(v *view, at float64) *sighting {
	s := &sighting{view: v, at: at}
	n := gridLen + 2*discoverSlack
	flat := make([]float32, n*v.channels)
	for i := range n {
		row := v.row(at+float64(gridFrom-discoverSlack+i)*stirStep, flat[i*v.channels:(i+1)*v.channels])
		s.rows = append(s.rows, row)
	}
	column := make([]float32, 0, n)
	for c := range v.channels {
		column = column[:0]
		for _, r := range s.rows {
			if r != nil {
				column = append(column, r[c])
			}
		}
		if len(column) == 0 {
			continue
		}
		mid := middle(column)
		for _, r := range s.rows {
			if r != nil {
				r[c] -= mid
			}
		}
	}
	return s
}

// alike is the greatest correlation of b with the middle of a over all shifts,
// and the shift in steps.
func (a *sighting) alike(b *sighting) (float64, int) {
	best, at := 0.0, 0
	for shift := -discoverSlack; shift <= discoverSlack; shift++ {
		var ab, aa, bb float64
		for k := range gridLen {
			x, y := a.rows[k+discoverSlack], b.rows[k+discoverSlack+shift]
			if x == nil || y == nil {
				continue
			}
			var sab, saa, sbb float32
			for c := range x {
				sab += x[c] * y[c]
				saa += x[c] * x[c]
				sbb += y[c] * y[c]
			}
			ab, aa, bb = ab+float64(sab), aa+float64(saa), bb+float64(sbb)
		}
		if d := math.Sqrt(aa * bb); d > 0 && ab/d > best {
			best, at = ab/d, shift
		}
	}
	return best, at
}

// member says whether a sighting belongs to a group, and by how many steps it
// lies off the group's middle one.
type member struct {
	in    bool
	shift int
}

// ballGroup finds the group of alike sightings that shows balls, and how many
// seconds after the middle of the group's sightings the shot lies. A session
// repeats other things as well: the start of a run-in, the walk back. Only a
// ball has two sudden movements in two places, the feed and the shot.
func ballGroup(all []*sighting) ([]member, float64) {
	like := affinities(all)
	var best []member
	var top, late float64
	taken := make([]bool, len(all))
	for range groupsMost {
		group := largestGroup(all, like, taken)
		if group == nil {
			break
		}
		count := 0
		for i, m := range group {
			if m.in {
				taken[i] = true
				count++
			}
		}
		if pair, at := shotOf(all, group); pair*math.Sqrt(float64(count)) > top {
			best, top, late = group, pair*math.Sqrt(float64(count)), at
		}
	}
	return best, late
}

// affinities compares each sighting with each other.
func affinities(all []*sighting) [][]float64 {
	like := make([][]float64, len(all))
	for i := range like {
		like[i] = make([]float64, len(all))
	}
	for i := range all {
		for j := i + 1; j < len(all); j++ {
			v, _ := all[i].alike(all[j])
			like[i][j], like[j][i] = v, v
		}
	}
	return like
}

// largestGroup finds the sighting that most others are like, and those others;
// nil if too few are alike. Those already taken are left out.
func largestGroup(all []*sighting, like [][]float64, taken []bool) []member {
	best, hub := 0.0, -1
	for i := range all {
		if taken[i] {
			continue
		}
		var row []float64
		for j, v := range like[i] {
			if !taken[j] && i != j {
				row = append(row, v)
			}
		}
		sort.Sort(sort.Reverse(sort.Float64Slice(row)))
		var sum float64
		for _, v := range row[:min(max(len(all)/4, discoverLeast), len(row))] {
			sum += v
		}
		if sum > best {
			best, hub = sum, i
		}
	}
	if hub < 0 {
		return nil
	}
	var row []float64
	for j, v := range like[hub] {
		if !taken[j] && j != hub {
			row = append(row, v)
		}
	}
	limit := max(twoMeans(row), alikeLeast)
	out := make([]member, len(all))
	count := 0
	for i := range all {
		if taken[i] {
			continue
		}
		v, shift := 1.0, 0
		if i != hub {
			v, shift = all[hub].alike(all[i])
		}
		out[i] = member{v >= limit, shift}
		if v >= limit {
			count++
		}
	}
	if count < discoverLeast {
		return nil
	}
	return out
}

// twoMeans parts values into two groups and gives the middle between their
// means.
func twoMeans(values []float64) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range values {
		low, high = min(low, v), max(high, v)
	}
	for range 20 {
		mid := (low + high) / 2
		var a, b moments
		for _, v := range values {
			if v < mid {
				a.add(v, 1)
			} else {
				b.add(v, 1)
			}
		}
		if a.n == 0 || b.n == 0 {
			break
		}
		low, high = a.mean(), b.mean()
	}
	return (low + high) / 2
}

// shotOf looks for the pair of sudden movements that a group has in common, the
// second 0.35 to 0.9 s after the first and elsewhere in the picture. It gives
// how clear the pair is and where the second lies, in seconds from the middle.
// Sudden is what moves more than a quarter of a second before and after: a
// swing is over by then, a run-in or the walk back is not.
func shotOf(all []*sighting, group []member) (clear, late float64) {
	const (
		side    = 5 // steps
		soonest = 7
		latest  = 18
		nearly  = 0.9
	)
	cells := all[0].view.channels
	n := gridLen + 2*discoverSlack
	mean := make([][]float64, n)
	count := make([]float64, n)
	for k := range mean {
		mean[k] = make([]float64, cells)
		for i, sg := range all {
			j := k + group[i].shift
			if !group[i].in || j < 0 || j >= n || sg.rows[j] == nil {
				continue
			}
			count[k]++
			for c, v := range sg.rows[j] {
				mean[k][c] += float64(v)
			}
		}
		for c := range mean[k] {
			mean[k][c] /= max(count[k], 1)
		}
	}
	sudden := make([][]float64, n)
	size := make([]float64, n)
	for k := side; k < n-side; k++ {
		if min(count[k-side], count[k], count[k+side]) < count[n/2]/2 {
			continue
		}
		sudden[k] = make([]float64, cells)
		for c := range cells {
			v := max(mean[k][c]-(mean[k-side][c]+mean[k+side][c])/2, 0)
			sudden[k][c] = v
			size[k] += v * v
		}
	}
	best := make([]float64, n) // of the pairs whose second is this
	for k := range n {
		for j := max(k-latest, 0); j <= k-soonest; j++ {
			if sudden[j] == nil || sudden[k] == nil || size[j] == 0 || size[k] == 0 {
				continue
			}
			var same float64
			for c := range cells {
				same += sudden[j][c] * sudden[k][c]
			}
			norm := math.Sqrt(size[j] * size[k])
			best[k] = max(best[k], math.Sqrt(norm)*(1-same/norm))
		}
		clear = max(clear, best[k])
	}
	// A shot and the batter's way back are a pair as well: the first is believed.
	for k, v := range best {
		if clear > 0 && v >= nearly*clear {
			return clear, float64(k+gridFrom-discoverSlack) * stirStep
		}
	}
	return 0, 0
}
