package split

import (
	"cmp"
	"math"
	"slices"
	"sort"
)

// Struck balls leave the batter in many directions, and what all of them come
// from is where the bat met the ball. Nothing else in a picture has such a
// place: it is found even where balls are not seen to come, as from behind the
// arm, and it tells a ball's way in from a bat's way up.
const (
	sourceSeeds  = 160  // flights compared
	sourceBack   = 0.4  // s that a ball may be hidden after it was struck
	sourceAhead  = 0.05 // s by which it may be seen to fly too early
	sourceOff    = 7.0  // pixels by which a flight may miss the place
	sourceTurn   = 0.15 // sine of the least angle at which two flights cross to tell a place
	sourceLeast  = 4    // balls that make a place
	sourceSpread = 0.01 // how much their directions must differ: 0 to 0.25
	sourceAim    = 0.4  // of its length that a flight on the way in comes nearer to it
	sourceNear   = 0.25 // s from a ball that was heard
	sourceShort  = 0.6  // of the length of most: less is not a ball

	alone        = 40.0 // pixels: a way in this long may be one without a place to lead to,
	outwardMore  = 2.0  // times as many balls must be seen to go as to come, fewer where the latter rise and nothing is heard,
	outwardFirst = 3.0  // and so many times more where the latter are clearly first
	firstLeast   = 0.3  // or with one elsewhere, if so many more of its flights are first than last
)

// source is where bats met balls.
type source struct {
	x, y   float64
	leaves []leaving // ascending, one a ball
	known  bool      // by an earlier session; too few leave it to find it anew
}

// leaving is a flight that comes from a source, and when it left it.
type leaving struct {
	at float64
	by arc
}

// leftFrom says when a flight left a place, which it may miss by off pixels, ok if
// it did.
func (a *arc) leftFrom(x, y, off float64) (at float64, ok bool) {
	if a.misses(x, y) > off {
		return 0, false
	}
	back := a.back(x, y)
	return a.from.t + back, back < sourceAhead && back > -sourceBack
}

// findSource looks for the place from which most balls go in most directions,
// nil if there is none. Balls that were heard speak for a place.
func (s *session) findSource(all []arc, anchors []anchor) *source {
	var list []arc
	for _, a := range all {
		if a.points < gonePoints || a.length() < goneLength {
			continue
		}
		if n := len(list); n > 0 && math.Abs(list[n-1].from.t-a.from.t) < 0.3 && list[n-1].along(a) > wayTurn {
			if a.length() > list[n-1].length() { // bright and dark edge of one ball
				list[n-1] = a
			}
			continue
		}
		list = append(list, a)
	}
	seeds := slices.Clone(list)
	if len(seeds) > sourceSeeds {
		slices.SortStableFunc(seeds, func(a, b arc) int { return cmp.Compare(b.worth(), a.worth()) })
		seeds = seeds[:sourceSeeds]
	}
	best := &source{}
	top := 0.0
	for i := range seeds {
		for j := range i {
			x, y, ok := crossing(&seeds[i], &seeds[j])
			if !ok {
				continue
			}
			leaves := leavings(seeds, x, y)
			score := worthOf(leaves, anchors, sourceLeast)
			if score > top {
				score *= inTurn(-order(all, flightsOf(leaves)))
			}
			if score > top {
				top, best.x, best.y = score, x, y
			}
		}
	}
	if known, score := s.knownHit(all, seeds, anchors); score > top {
		if known.known {
			return known
		}
		best, top = known, score
	}
	if top == 0 {
		return nil
	}
	for range 3 {
		best.settle(leavings(list, best.x, best.y))
	}
	best.leaves = leavings(list, best.x, best.y)
	best.curve()
	return best
}

// curve draws the flights back as they fell rather than straight, where they
// miss one place less for it.
func (p *source) curve() {
	straight, curved := arcsOf(p.leaves), make([]*arc, len(p.leaves))
	for i, a := range straight {
		set := a.setOut()
		curved[i] = &set
	}
	x, y, spread := comeFrom(curved)
	if spread < sourceSpread || missed(curved, x, y) >= missed(straight, p.x, p.y) {
		return
	}
	p.x, p.y = x, y
	for i, a := range curved {
		p.leaves[i].at = a.from.t + min(max(a.back(x, y), -sourceBack), sourceAhead)
	}
}

// missed is by how much flights drawn back straight miss a place, root mean
// square in pixels.
func missed(flights []*arc, x, y float64) float64 {
	var sum float64
	for _, a := range flights {
		off := a.misses(x, y)
		sum += off * off
	}
	return math.Sqrt(sum / float64(len(flights)))
}

func flightsOf(leaves []leaving) []arc {
	out := make([]arc, len(leaves))
	for i, l := range leaves {
		out[i] = l.by
	}
	return out
}

// arcsOf are the flights themselves, where flightsOf copies them.
func arcsOf(leaves []leaving) []*arc {
	out := make([]*arc, len(leaves))
	for i := range leaves {
		out[i] = &leaves[i].by
	}
	return out
}

// settle moves a source to the place that its flights miss least.
func (p *source) settle(leaves []leaving) {
	if x, y, spread := comeFrom(arcsOf(leaves)); spread > 0 {
		p.x, p.y = x, y
	}
}

// crossing is where two flights of different balls come from, if that is one
// place.
func crossing(a, b *arc) (x, y float64, ok bool) {
	if math.Abs(a.from.t-b.from.t) < wayApart {
		return 0, 0, false
	}
	ax, ay := a.direction()
	bx, by := b.direction()
	sine := ax*by - ay*bx
	if math.Abs(sine) < sourceTurn {
		return 0, 0, false
	}
	k := ((b.from.x-a.from.x)*by - (b.from.y-a.from.y)*bx) / sine
	x, y = a.from.x+k*ax, a.from.y+k*ay
	_, first := a.leftFrom(x, y, sourceOff)
	_, second := b.leftFrom(x, y, sourceOff)
	return x, y, first && second
}

// leavings lists the flights that come from a place, the longest of each ball.
func leavings(list []arc, x, y float64) []leaving {
	var out []leaving
	for i := range list {
		at, ok := list[i].leftFrom(x, y, sourceOff)
		if ok {
			out = append(out, leaving{at, list[i]})
		}
	}
	return oneOfEach(out, func(a, b leaving) bool { return a.by.length() > b.by.length() })
}

// oneOfEach keeps of each ball the better flight, ascending.
func oneOfEach(list []leaving, better func(a, b leaving) bool) []leaving {
	sort.SliceStable(list, func(i, j int) bool { return list[i].at < list[j].at })
	n := 0
	for _, l := range list {
		if n > 0 && l.at-list[n-1].at < wayApart {
			if better(l, list[n-1]) {
				list[n-1] = l
			}
			continue
		}
		list[n] = l
		n++
	}
	return list[:n]
}

// worthOf is how much a place's flights say for it: how many they are, and in
// how many directions they go; 0 if they are fewer than least or go the same way.
func worthOf(leaves []leaving, anchors []anchor, least int) float64 {
	n := float64(len(leaves))
	if len(leaves) < least {
		return 0
	}
	var xx, xy, yy, near float64
	for i := range leaves {
		dx, dy := leaves[i].by.direction()
		xx, xy, yy = xx+dx*dx, xy+dx*dy, yy+dy*dy
		for _, k := range anchors {
			if math.Abs(k.at-leaves[i].at) < sourceNear {
				near += k.p
				break
			}
		}
	}
	spread := (xx*yy - xy*xy) / (n * n)
	if spread < sourceSpread {
		return 0
	}
	worth := n * math.Sqrt(spread)
	if len(anchors) >= wayLeast {
		worth *= 0.1 + near/n
	}
	return worth
}

// aimed says whether a group of flights may be the balls' way in: whether they
// lead to where balls go from. A bat on its way up does not. Where no such place is
// known they must be long; where they lead elsewhere, also the first of each ball
// rather than the last, or balls must go from somewhere along them.
func (p *source) aimed(all, group []arc) bool {
	lengths, nearer := make([]float64, len(group)), make([]float64, len(group))
	for i, a := range group {
		lengths[i] = a.length()
		if p != nil {
			nearer[i] = (math.Hypot(p.x-a.from.x, p.y-a.from.y) - math.Hypot(p.x-a.to.x, p.y-a.to.y)) / lengths[i]
		}
	}
	if middle(nearer) >= sourceAim {
		return true
	}
	return middle(lengths) >= alone && (p == nil || order(all, group) > firstLeast || struckOn(all, group))
}

// outdoes says whether balls that go from a place say more than a group of
// flights that may be their way in: more so the more clearly that is the first of
// what each ball does.
func (p *source) outdoes(all, group []arc, silent bool) bool {
	return float64(len(p.leaves)) > outwardLeast(all, group, silent)
}

// outwardLeast is how many balls at most may go from a place that says no more than a
// group of flights. What rises may be a bat's doing where no sound tells.
func outwardLeast(all, group []arc, silent bool) float64 {
	least := outwardMore * float64(len(group))
	if silent {
		least *= unrisen(group)
	}
	if order(all, group) > firstLeast {
		least *= outwardFirst
	}
	return least
}

// worth is how much a place's flights say, by the measure of a way in but for where
// in the picture it lies: the less the more alike their directions are.
func (p *source) worth(all []arc) float64 {
	flights := flightsOf(p.leaves)
	sum := 0.0
	for _, a := range flights {
		sum += a.worth()
	}
	_, _, spread := comeFrom(arcsOf(p.leaves))
	return sum * min(2*math.Sqrt(spread), 1) * inTurn(-order(all, flights)) * unrisen(flights)
}

// outward says whether balls are only seen to go.
func (w *way) outward() bool { return w.ux == 0 && w.uy == 0 }

// way makes a way of a source for balls that are only seen to go.
// What is much shorter than most is the bat rather than a ball.
func (p *source) way() *way {
	w := &way{x: p.x, y: p.y, leave: 1, known: p.known}
	lengths := make([]float64, len(p.leaves))
	for i, l := range p.leaves {
		lengths[i] = l.by.length()
	}
	least := sourceShort * middle(lengths)
	for i := range p.leaves {
		l := &p.leaves[i]
		if l.by.length() < least {
			continue
		}
		w.flights++
		w.passes = append(w.passes, pass{at: l.at, turn: l.at, turned: true, first: unseenFirst, length: l.by.length(), gone: &l.by})
	}
	return w
}
