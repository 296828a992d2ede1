package tagging

import (
	"cmp"
	"slices"

	"netreel/media"
)

// Known is a ball that is there already when a recording is split, perhaps
// again.
type Known struct {
	ID        int64
	Span      media.Span
	Contact   *media.Micros
	Kept      bool // a person has touched, coded or picked it
	Discarded bool // by a person: it is kept, but takes no room on the lane
	Elsewhere bool // another recording's split finds it too
}

// fixed says whether the split of this recording leaves the ball as it is:
// what a person keeps, and what two cameras agree on.
func (k Known) fixed() bool { return k.Kept || k.Elsewhere }

// Placement says which ball a proposal is.
type Placement struct {
	BallID   int64          // 0: a new ball
	Proposal int            // index of the proposal
	Moves    bool           // the known ball takes the proposal's edges over
	Delivery media.Delivery // the proposal, trimmed to the room there is; session clock
}

// Moment is the time by which a ball is put into a block and found on a
// recording: its contact, else the middle of its stretch.
func Moment(s media.Span, contact *media.Micros) media.Micros {
	if contact != nil {
		return *contact
	}
	return s.Start + s.Length()/2
}

// Resplit puts what the split of one recording proposes (session clock,
// ascending, not overlapping) among the balls that are known. A proposal and a
// ball that share more than half of the shorter one are the same ball. What a
// person keeps, or another camera sees too, is never changed: a proposal whose
// moment lies in such a ball is dropped, and one that only touches it is
// trimmed. gone are the balls that no split finds any more and nobody keeps.
//
// Doing it again with the outcome changes nothing.
func Resplit(known []Known, proposals []media.Delivery) (placed []Placement, gone []int64) {
	ballOf := pair(known, proposals)
	stays := map[int64]bool{}
	for j, p := range proposals {
		place := Placement{Proposal: j, Delivery: p}
		if i := ballOf[j]; i >= 0 {
			place.BallID = known[i].ID
			if known[i].fixed() {
				placed = append(placed, place)
				continue
			}
		}
		trimmed, ok := trim(p, known)
		if !ok {
			continue
		}
		if i := ballOf[j]; i >= 0 {
			stays[place.BallID] = true
			place.Moves = trimmed.Span() != known[i].Span || !sameTime(trimmed.Contact, known[i].Contact)
		}
		place.Delivery = trimmed
		placed = append(placed, place)
	}
	for _, k := range known {
		if !k.fixed() && !stays[k.ID] {
			gone = append(gone, k.ID)
		}
	}
	return placed, gone
}

// pair finds which ball each proposal is, one to one: an index of known, or
// -1. Balls that stay as they are come first, then the largest shared
// stretches.
func pair(known []Known, proposals []media.Delivery) []int {
	type couple struct {
		ball, proposal int
		loose          int // 0 for a fixed ball
		shared         media.Micros
	}
	var couples []couple
	for i, k := range known {
		loose := 1
		if k.fixed() {
			loose = 0
		}
		for j, p := range proposals {
			shared := k.Span.Overlap(p.Span())
			if 2*shared > min(k.Span.Length(), p.Span().Length()) {
				couples = append(couples, couple{i, j, loose, shared})
			}
		}
	}
	slices.SortStableFunc(couples, func(a, b couple) int {
		return cmp.Or(cmp.Compare(a.loose, b.loose), cmp.Compare(b.shared, a.shared))
	})
	ballOf, taken := make([]int, len(proposals)), make([]bool, len(known))
	for j := range ballOf {
		ballOf[j] = -1
	}
	for _, c := range couples {
		if ballOf[c.proposal] < 0 && !taken[c.ball] {
			ballOf[c.proposal], taken[c.ball] = c.ball, true
		}
	}
	return ballOf
}

// trim cuts a proposal back to the room that fixed balls leave it. It is not
// ok when its moment lies in one of them or less than half of it is left.
func trim(p media.Delivery, known []Known) (media.Delivery, bool) {
	moment, whole := Moment(p.Span(), p.Contact), p.Span().Length()
	for _, f := range known {
		switch {
		case !f.fixed():
		case f.Span.Contains(moment):
			return p, false
		case f.Discarded:
		case f.Span.End <= moment:
			p.Start = max(p.Start, f.Span.End)
		default:
			p.End = min(p.End, f.Span.Start)
		}
	}
	return p, 2*p.Span().Length() >= whole
}

func sameTime(a, b *media.Micros) bool {
	if a == nil || b == nil {
		return a == b
	}
	return *a == *b
}
