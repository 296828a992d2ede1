package split

import (
	"math"
	"slices"
)

// Balls of one session take about as long from the hand to the bat, where they are seen from
// the hand on. When a ball is met is told less surely by its flight, unless it is seen from the side.
const (
	handLeast  = 5    // balls that were first seen at the same place,
	handPlace  = 15.0 // pixels along the way from the middle of such places,
	handTook   = 0.45 // s before they are met, at least: else they were bowled long before
	handOff    = 0.05 // s by which a ball takes longer or shorter,
	handMeets  = 0.1  // and by which it is mistaken when it is met,
	handTurns  = 0.04 // or when it turns;
	handTurned = 3.0  // which says so many times as much of how long balls take
	handPaces  = 0.19 // s: a ball that is seen to turn as much sooner or later was bowled at another pace
)

// fromHand sets when balls that are seen from the hand on meet the bat: by where they are
// met, and by how long others take. The passes stay where they are, in order or not.
func (w *way) fromHand() {
	if w.fromSide() {
		return
	}
	balls := w.fromSamePlace()
	took := make([]weighted, len(balls))
	for i, p := range balls {
		took[i] = weighted{p.at - p.first.t, 1}
		if p.turned {
			took[i].weight = handTurned
		}
	}
	usual := shareBy(took, 0.5)
	if len(balls) < handLeast || usual < handTook {
		return
	}
	for _, p := range balls {
		p.takes(usual)
	}
}

// takes sets when a ball is met that takes about so long from where it was first seen. One
// that is seen to turn is met while it is seen neither to come nor to go. Another may be met
// before it was last seen: who bats may be followed instead of it.
func (p *pass) takes(usual float64) {
	off := handMeets
	if p.turned {
		if off = handTurns; math.Abs(p.first.t+usual-p.at) > handPaces {
			return
		}
	}
	p.at = midway(p.at, off, p.first.t+usual, handOff)
	switch {
	case p.turned && p.gone != nil:
		p.at = unseenBetween(p.came, *p.gone, p.at)
	case p.turned:
		p.at = max(p.at, p.came.to.t)
	default:
		p.at = max(p.at, p.came.from.t)
	}
}

// fromSamePlace are the passes that were first seen where most were, and did not go on past
// the batter; none if most were not.
func (w *way) fromSamePlace() []*pass {
	var all []*pass
	var places []float64
	for i := range w.passes {
		if p := &w.passes[i]; p.bowled() && !w.missed(p) {
			all, places = append(all, p), append(places, w.on(p.first))
		}
	}
	var out []*pass
	usual := middle(slices.Clone(places))
	for i, p := range all {
		if math.Abs(places[i]-usual) < handPlace {
			out = append(out, p)
		}
	}
	if 2*len(out) <= len(all) {
		return nil
	}
	return out
}
