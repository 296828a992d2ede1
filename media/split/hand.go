package split

import (
	"math"
	"slices"
)

// Balls of one session take much as long from the hand to the bat, where they are seen from
// the hand on. Where on its way a ball is met is told less surely, unless it is seen from the side.
const (
	handLeast  = 5    // balls that were first seen at the same place,
	handPlace  = 15.0 // pixels along the way from the middle of such places,
	handTook   = 0.45 // s before they are met, at least: else they were bowled long before
	handOff    = 0.05 // s by which a ball takes longer or shorter,
	handMeets  = 0.1  // and by which it is mistaken when it is met,
	handTurns  = 0.04 // or when it turns;
	handTurned = 3.0  // which says so many times as much of how long balls take
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
		own := handMeets
		if p.turned {
			own = handTurns
		}
		p.at += own * own / (own*own + handOff*handOff) * (p.first.t + usual - p.at)
	}
}

// fromSamePlace are the passes that were first seen where most are, and did not go on past
// the batter.
func (w *way) fromSamePlace() []*pass {
	var all []*pass
	var places []float64
	for i := range w.passes {
		if p := &w.passes[i]; p.first.t >= 0 && !p.onward {
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
	return out
}
