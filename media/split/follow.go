package split

import (
	"cmp"
	"math"
	"slices"
	"sort"
)

// comparable is what flew in all that was seen, of the flights those that may
// belong to a way.
func (s *session) comparable(warm bool) air {
	var all []arc
	var bounces []bounce
	for _, v := range s.views {
		seen := v.air(warm)
		for _, a := range seen.arcs {
			if a.to.t-a.from.t >= wayTime && a.to.t-a.from.t <= wayLast && a.smooth() && a.mass > 0 {
				all = append(all, a)
			}
		}
		bounces = append(bounces, seen.bounces...)
	}
	if len(all) > waySeeds { // the clearest
		slices.SortStableFunc(all, func(a, b arc) int { return cmp.Compare(b.worth(), a.worth()) })
		all = all[:waySeeds]
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].to.t < all[j].to.t })
	slices.SortStableFunc(bounces, func(a, b bounce) int { return cmp.Compare(a.in.to.t, b.in.to.t) })
	return air{all, bounces}
}

// sized says whether two flights may be of one ball.
func (a arc) sized(b arc) bool { return nearly(wayMass, a.mass, b.mass) }

// nearly says whether one of two values is at most so many times the other.
func nearly(times, a, b float64) bool { return a <= b*times && b <= a*times }

// like says whether two flights go the same way, or down to the same place on the
// ground: balls from over and round the wicket meet there.
func (a arc) like(b arc) bool {
	if a.along(b) < wayMeet || !a.sized(b) {
		return false
	}
	va, vb := math.Hypot(a.vx, a.vy), math.Hypot(b.vx, b.vy)
	if !nearly(wayPace, va, vb) {
		return false
	}
	if a.endY > bounceFalls && b.endY > bounceFalls && math.Hypot(a.to.x-b.to.x, a.to.y-b.to.y) < wayGround {
		return true
	}
	if a.along(b) < wayTurn || a.apart(b) > wayOnward*max(va, vb) {
		return false
	}
	beside := func(a, b arc) float64 {
		mx, my := (b.from.x+b.to.x)/2-a.from.x, (b.from.y+b.to.y)/2-a.from.y
		v := math.Hypot(a.vx, a.vy)
		return math.Abs(mx*a.vy-my*a.vx) / v
	}
	return beside(a, b) < wayBeside && beside(b, a) < wayBeside
}

// apart is how many pixels lie between two flights, of which one goes on where
// the other went.
func (a arc) apart(b arc) float64 {
	mid := math.Hypot(a.from.x+a.to.x-b.from.x-b.to.x, a.from.y+a.to.y-b.from.y-b.to.y) / 2
	return mid - (a.length()+b.length())/2
}

// follow lists the flights like seed, the longest of each ball, and how much
// they say together.
func (s *session) follow(f air, seed arc, anchors []anchor) ([]arc, float64) {
	var group []arc
	crowd := 0.0 // those that come too soon after another: a walker's feet
	for _, a := range f.arcs {
		if !seed.like(a) {
			continue
		}
		if n := len(group); n > 0 && a.to.t-group[n-1].to.t < wayApart {
			if a.from.t > group[n-1].to.t+wayPiece {
				crowd++
			}
			if a.length() > group[n-1].length() {
				group[n-1] = a
			}
			continue
		}
		group = append(group, a)
	}
	const before, most, after = 0.25, 0.5, 0.12 // s around a contact in which a ball is lost as a rule, and at most before it
	var score, near float64
	for _, a := range group {
		score += a.worth()
		for _, k := range anchors {
			if d := a.to.t - k.at; d > -most && d < after {
				near += k.p * min((most+d)/(most-before), 1)
				break
			}
		}
	}
	score *= max(1-2*crowd/float64(max(len(group), 1)), 0) * inTurn(order(f.arcs, group))
	if 2*approached(f.arcs, group) > 1 {
		score *= wayBat
	}
	if len(anchors) >= wayLeast {
		score *= 0.1 + near/float64(max(len(group), 1))
	}
	list := bouncesOf(group, f.bounces)
	if len(list) == 0 {
		score *= unrisen(group)
	}
	if looms(group) {
		score *= loomWorth
	}
	return group, score * s.bounceWorth(list) * s.central(group)
}

// Perspective: what nears the camera looks larger and faster the nearer it is.
const (
	loomMass  = 1.2 // times larger at its end than at its beginning
	loomPace  = 1.2 // and times faster
	loomWorth = 2.0 // by how much likelier it makes a group
)

// looms says whether a group's flights come towards the camera, as they do from
// behind the batter: a bat or a hand seldom looks larger and faster at once. Most must
// look larger and most get faster, but not the same ones: a ball is half hidden when it
// is last seen, now and then.
func looms(group []arc) bool {
	larger, faster := 0, 0
	for i := range group {
		a := &group[i]
		if a.to.mass > loomMass*a.from.mass {
			larger++
		}
		if math.Hypot(a.endX, a.endY) > loomPace*math.Hypot(a.begX, a.begY) {
			faster++
		}
	}
	n := min(larger, faster)
	return n >= wayLeast && 2*n > len(group)
}

// unrisen is the weight of a group by how much of its direction is up the
// picture, wayRises to 1: bats are lifted, balls come down or across.
func unrisen(group []arc) float64 {
	up := 0.0
	for i := range group {
		_, dy := group[i].direction()
		up -= dy / float64(len(group))
	}
	return 1 - (1-wayRises)*min(max((up-wayUp)/(waySteep-wayUp), 0), 1)
}

// central is how likely a group is by where it leads to: whoever set the camera up
// had the batter in mind, and the next nets' are nearer to the picture's sides.
func (s *session) central(group []arc) float64 {
	wide, _ := eyeSize(s.probe.Width, s.probe.Height)
	off := (middleBy(group, lostX)/float64(wide) - middleX) / wayBeyond
	return math.Exp(-off * off)
}

// order says whether a group's flights are the first of each ball, 1, or the
// last, -1: balls that come are followed by others that go, and no flight comes
// before them. It tells the way in from the ways out.
func order(all, group []arc) float64 {
	const reach = 0.6 // s
	var after, before float64
	for _, a := range group {
		var next, last bool
		i := sort.Search(len(all), func(i int) bool { return all[i].to.t >= a.from.t-reach })
		for ; i < len(all) && all[i].to.t < a.to.t+2*reach; i++ {
			b := all[i]
			if a.along(b) > wayTurn || !a.sized(b) {
				continue
			}
			next = next || b.from.t > a.to.t-0.05 && b.from.t < a.to.t+reach && a.reaches(b)
			last = last || b.to.t < a.from.t+0.05 && b.to.t > a.from.t-reach && b.reaches(a)
		}
		if next {
			after++
		}
		if last {
			before++
		}
	}
	return (after - before) / float64(max(len(group), 1))
}

// reaches says whether one ball may have flown both flights, the second after the
// first: whether it could get there in time.
func (a arc) reaches(b arc) bool {
	const off = 12.0 // pixels
	pace := max(math.Hypot(a.vx, a.vy), math.Hypot(b.vx, b.vy))
	return math.Hypot(b.from.x-a.to.x, b.from.y-a.to.y) <= off+pace*max(b.from.t-a.to.t, 0)
}

// approached is the share of a group's flights to which another comes from
// elsewhere as they end or a little later: a bat that is lifted moves alike each
// time as well, and the ball comes to it.
func approached(all, group []arc) float64 {
	const (
		early, late = 0.1, 0.4 // s
		elsewhere   = 25.0     // pixels from its end
		nearer      = 0.7      // of how far it was when it was first seen
	)
	n := 0
	for _, a := range group {
		x, y := (a.from.x+a.to.x)/2, (a.from.y+a.to.y)/2
		i := sort.Search(len(all), func(i int) bool { return all[i].to.t >= a.to.t-early })
		for ; i < len(all) && all[i].to.t < a.to.t+2*late; i++ {
			b := all[i]
			if b.from.t < a.to.t-early || b.from.t > a.to.t+late || 2*b.worth() < a.worth() ||
				math.Hypot(b.from.x-a.to.x, b.from.y-a.to.y) < elsewhere {
				continue
			}
			if math.Hypot(b.to.x-x, b.to.y-y) < nearer*math.Hypot(b.from.x-x, b.from.y-y) {
				n++
				break
			}
		}
	}
	return float64(n) / float64(max(len(group), 1))
}

// inTurn is the weight of a group by its order, 0.2 to 1.
func inTurn(order float64) float64 { return 0.2 + 0.8*min(max(0.5+order, 0), 1) }

// worth is how much a flight says: noise makes short, faint ones of few
// pictures.
func (a arc) worth() float64 {
	return min(a.length(), wayLong) * min(float64(a.points-2), 8) * math.Log1p(a.mass/10)
}

// members are all flights like any of a group, and as large as most of it: from
// behind the arm, where balls shrink on their way, as large as one may be.
func (s *session) members(f air, group []arc) []arc {
	var out []arc
	alike := wayAlike
	if steep(bouncesOf(group, f.bounces)) {
		alike = wayMass
	}
	usual := usualMass(group)
	for _, a := range f.arcs {
		if nearly(alike, a.mass, usual) && slices.ContainsFunc(group, func(g arc) bool { return g.like(a) }) {
			out = append(out, a)
		}
	}
	return out
}

// usualMass is the mass that most of a group have, the median.
func usualMass(group []arc) float64 {
	return middleBy(group, func(a arc) float64 { return a.mass })
}

// lostX is how far right in the picture a flight ends.
func lostX(a arc) float64 { return a.to.x }

// middleBy is the median of a value over flights.
func middleBy(flights []arc, value func(arc) float64) float64 {
	list := make([]float64, len(flights))
	for i, a := range flights {
		list[i] = value(a)
	}
	return middle(list)
}
