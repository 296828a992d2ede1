package split

import (
	"context"
	"math"
	"slices"
	"sort"
)

// Without sound nothing is sure to begin with. But what a session repeats most
// often is a ball: stretches in which much moves are compared with each other,
// and the largest group that is alike is taken for balls.
const (
	discoverMost  = 48  // stretches compared
	discoverSlack = 8   // steps by which one may lie off another
	discoverApart = 1.6 // s between two
	discoverLeast = 4   // alike stretches that make a group
	groupsMost    = 4
	alikeLeast    = 0.25 // correlation: less is never alike
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
		slices.Sort(column)
		mid := column[len(column)/2]
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

// discover finds the first anchors by pictures alone and learns from them.
func (s *session) discover(ctx context.Context, f Footage, e *eye, progress func(float64)) error {
	busy := s.busiest(discoverMost)
	if len(busy) < discoverLeast {
		return nil
	}
	if err := s.gazeAt(ctx, f, e, busy, progress); err != nil {
		return err
	}
	anchors, examples := s.seenArriving(e)
	if anchors == nil {
		anchors, examples = s.seenAlike(busy)
	}
	if anchors == nil {
		return nil
	}
	s.sight = learnSight(channelsOf(e), examples)
	s.study(anchors)
	s.propose()
	decide(s.moments)
	return nil
}

// firstSure and firstNot are the probabilities given to what discovery takes
// for balls and for none.
const (
	firstSure = 0.8
	firstNot  = 0.1
)

// seenArriving takes for balls what flies to the place where balls arrive.
func (s *session) seenArriving(e *eye) ([]anchor, []example) {
	balls := place(s.arrivals(e))
	var anchors []anchor
	var examples []example
	for _, b := range balls {
		at := b.arc.to.t + arriveBefore
		if o := s.strikeNear(at); o >= 0 {
			at = s.onsets[o].at
		}
		anchors = append(anchors, anchor{at, firstSure})
		if v := s.viewOf(at); v != nil {
			examples = append(examples, example{v, at, firstSure})
		}
	}
	if anchors == nil {
		return nil, nil
	}
	for _, v := range s.views {
		for t := v.from + viewBefore; t <= v.to-viewAfter; t += 0.4 {
			free := s.viewOf(t) == v
			for _, a := range anchors {
				free = free && math.Abs(a.at-t) > discoverApart
			}
			if free {
				examples = append(examples, example{v, t, firstNot})
			}
		}
	}
	return anchors, examples
}

// seenAlike takes for balls the largest group of stretches that look alike.
func (s *session) seenAlike(busy []float64) (anchors []anchor, examples []example) {
	var all []*sighting
	for _, t := range busy {
		if v := s.viewOf(t); v != nil {
			all = append(all, newSighting(v, t))
		}
	}
	group, late := ballGroup(all)
	if group == nil {
		return nil, nil
	}
	if by, ok := s.byEar(all, group); ok {
		late = by
	}
	for i, sg := range all {
		at := sg.at + float64(group[i].shift)*stirStep + late
		p := firstNot
		if group[i].in {
			p = firstSure
			if o := s.strikeNear(at); o >= 0 {
				at = s.onsets[o].at
			}
			anchors = append(anchors, anchor{at, p})
		}
		if s.viewOf(at) != nil {
			examples = append(examples, example{sg.view, at, p})
		}
	}
	return anchors, examples
}

// byEar gives how far the shot lies from the middle of a group's sightings by
// the bats heard near them; ok if there are a few and they agree.
func (s *session) byEar(all []*sighting, group []member) (late float64, ok bool) {
	const (
		reach = 1.2  // s
		agree = 0.15 // s
		few   = 3
	)
	var lags []float64
	for i, sg := range all {
		if !group[i].in {
			continue
		}
		at := sg.at + float64(group[i].shift)*stirStep
		for _, m := range s.moments {
			if m.chosen && m.struck && m.here > 0.5 && math.Abs(m.at-at) < reach {
				lags = append(lags, m.at-at)
			}
		}
	}
	if len(lags) < few {
		return 0, false
	}
	sort.Float64s(lags)
	mid := lags[len(lags)/2]
	near := 0
	for _, l := range lags {
		if math.Abs(l-mid) <= agree {
			near++
		}
	}
	return mid, near >= few && 2*near > len(lags)
}

// strikeNear is the onset most like a bat's within a quarter of a second of t,
// -1 if none is likelier than not.
func (s *session) strikeNear(t float64) int {
	best, odds := -1, 0.0
	i := sort.Search(len(s.onsets), func(i int) bool { return s.onsets[i].at >= t-0.25 })
	for ; i < len(s.onsets) && s.onsets[i].at <= t+0.25; i++ {
		if s.first[i] > odds {
			best, odds = i, s.first[i]
		}
	}
	return best
}

// busiest lists up to n times at which most moves, apart from each other.
func (s *session) busiest(n int) []float64 {
	list := s.stirred(nil)
	sort.SliceStable(list, func(i, j int) bool {
		a, b := s.motion.step(list[i]), s.motion.step(list[j])
		return s.motion.burst(a) > s.motion.burst(b)
	})
	var out []float64
	for _, t := range list {
		free := t > viewBefore && t < s.seconds-viewAfter
		for _, o := range out {
			free = free && math.Abs(o-t) >= discoverApart
		}
		if free {
			if out = append(out, t); len(out) == n {
				break
			}
		}
	}
	sort.Float64s(out)
	return out
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
	best, middle := 0.0, -1
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
			best, middle = sum, i
		}
	}
	if middle < 0 {
		return nil
	}
	var row []float64
	for j, v := range like[middle] {
		if !taken[j] && j != middle {
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
		if i != middle {
			v, shift = all[middle].alike(all[i])
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
			if v := math.Sqrt(norm) * (1 - same/norm); v > clear {
				clear, late = v, float64(k+gridFrom-discoverSlack)*stirStep
			}
		}
	}
	return clear, late
}
