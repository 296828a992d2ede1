package split

import (
	"cmp"
	"math"
	"slices"
)

// Of nets side by side that are seen from the side, each has its own ground, and the
// nearest one's, which is who is filmed, lies lowest in the picture. Balls of the
// others come the same way, but bounce higher in it, and look smaller.
const (
	netLeast  = 3    // bounces that make the nearest ground
	netApart  = 5.0  // pixels between two, at least,
	netSpread = 3.0  // and times as far as bounces lie from the nearest
	netShare  = 0.2  // of all balls that bounce on the nearest, at least
	netLean   = 0.3  // by how much a ground may lean in the picture, up or down its length,
	netLeans  = 6    // in so many steps
	netSize   = 0.75 // of what balls on the nearest ground look like: smaller ones are the others'
)

// nets are the bounces on the nearest ground and on others, one a ball, ascending.
type nets struct {
	near, far  []bounce
	lean, edge float64 // what bounces below y = edge + lean x is the nearest one's
}

// alongside are the bounces of balls that come as a group does, in whichever net.
func (a air) alongside(group []arc) []bounce {
	w := &way{}
	w.point(group)
	return slices.DeleteFunc(slices.Clone(a.bounces), func(b bounce) bool { return w.toward(b.in) < wayTurn })
}

// low is how low in the picture a bounce lies, on a ground that leans.
func (b bounce) low(lean float64) float64 {
	x, y := b.touch()
	return y - lean*x
}

// touch is where a bounce lies in the picture.
func (b bounce) touch() (x, y float64) {
	return (b.in.to.x + b.out.from.x) / 2, (b.in.to.y + b.out.from.y) / 2
}

// touchedAt is how far along the picture bounces lie in the mean.
func touchedAt(list []bounce) float64 {
	var sum float64
	for _, b := range list {
		x, _ := b.touch()
		sum += x / float64(len(list))
	}
	return sum
}

// partNets finds the nearest net's ground where balls bounce on more than one, else
// nil.
func partNets(list []bounce) *nets {
	var best *nets
	clearest := netSpread
	for step := -netLeans; step <= netLeans; step++ {
		lean := netLean * float64(step) / netLeans
		low := slices.Clone(list) // from the farthest net's to the nearest's
		slices.SortFunc(low, func(a, b bounce) int { return cmp.Compare(a.low(lean), b.low(lean)) })
		for i := bounceTells; i <= len(low)-netLeast; i++ {
			far, near := low[:i], low[i:]
			gap := near[0].low(lean) - far[i-1].low(lean)
			wide := max(near[len(near)-1].low(lean)-near[0].low(lean), 1) / 2
			// One ground's balls that bounce here and there are not two grounds that lean.
			if gap < netApart || gap <= clearest*wide || math.Abs(lean*(touchedAt(near)-touchedAt(far))) >= gap/2 {
				continue
			}
			n := &nets{oneEach(near), oneEach(far), lean, near[0].low(lean) - gap/2}
			if len(n.far) >= bounceTells && len(n.near) >= netLeast && float64(len(n.near)) >= netShare*float64(len(n.near)+len(n.far)) && !steep(n.near) {
				best, clearest = n, gap/wide
			}
		}
	}
	return best
}

// oneEach are bounces in order, the clearest of each ball.
func oneEach(list []bounce) []bounce {
	list = slices.SortedFunc(slices.Values(list), func(a, b bounce) int { return cmp.Compare(a.in.to.t, b.in.to.t) })
	return bouncesOf(insOf(list), list)
}

// balls are the flights in which the nearest net's balls come down.
func (n *nets) balls() []arc { return insOf(n.near) }

// ownOnly leaves of flights those of the nearest net: what bounces on its ground, and
// of what isn't seen to bounce what is as large.
func (n *nets) ownOnly(flights []arc, all []bounce) []arc {
	usual := usualMass(n.balls())
	return slices.DeleteFunc(flights, func(a arc) bool {
		bounced := false
		for i := range all {
			if b := &all[i]; b.has(a) {
				if b.low(n.lean) > n.edge {
					return false
				}
				bounced = true
			}
		}
		return bounced || a.mass < netSize*usual
	})
}

// knowsNearest says whether of the balls on the nearest ground as large a share is known
// as of the others: a camera may look through the next net at its own. What people said
// tells, and else what is heard.
func (s *session) knowsNearest(n *nets, anchors []anchor) bool {
	known := s.saidAnchors()
	if len(known) == 0 {
		known = slices.DeleteFunc(slices.Clone(anchors), func(a anchor) bool { return !a.heard })
	}
	count := func(list []bounce) float64 {
		balls := 0.0
		for _, b := range list {
			if slices.ContainsFunc(known, func(a anchor) bool { return a.at > b.at()-bounceEarly && a.at < b.at()+bounceLong }) {
				balls++
			}
		}
		return balls
	}
	return count(n.near)*float64(len(n.far)) >= count(n.far)*float64(len(n.near))
}
