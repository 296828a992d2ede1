package split

import (
	"slices"

	"netreel/media"
)

// Result is what the split found in one file.
type Result struct {
	// Deliveries are the balls as they are proposed: those of Above(Cut).
	// Ascending, not overlapping, inside the file.
	Deliveries []media.Delivery
	// Balls is every moment worth a thought, likely or not, ascending by
	// Passing. Each has the stretch it would have alone: stretches may overlap.
	// Keep them all, and another cut needs no new analysis.
	Balls   []Ball
	Cut     float64      // the confidence from which a ball is proposed, 0 to 1
	Breaks  []media.Span // gaps so long that a new block is likely to begin after them, from ball to ball; a proposal
	Sound   media.Trace  // loudness, logarithmic, stretched to the session's own range
	Motion  media.Trace  // how much moved, square root, stretched to the session's own range
	Notes   []string     // what could not be used and why, for a person; may be empty
	Profile Profile      // what this session taught, for the next one from the same camera position
}

// Ball is a delivery with what the split knows of it.
type Ball struct {
	media.Delivery
	Passing  media.Micros  // contact, or when the ball passed the batter
	Struck   float64       // probability that the bat was hit, if this is a ball at all; a proposal
	Release  *media.Micros // when the ball was seen to leave the hand or the machine, nil if it was not
	Bounce   *media.Micros // when it was seen or heard to bounce, nil if it was neither
	Evidence []string      // in words: "bat sound", "bounce heard", "feed seen"
}

const (
	usualCut  = 0.5  // at this confidence a ball is likelier than not
	leastSure = 0.02 // less is not worth a thought

	bareCut  = 0.9               // the cut where nothing is as sure as this,
	bareLong = 60 * media.Second // in footage as long as this
)

// cutOf is the confidence from which balls are proposed. Who bowls, bowls more than once:
// where in a minute or more nothing is sure, each of what is likely may be something else.
func cutOf(balls []Ball, length media.Micros) float64 {
	if length < bareLong || slices.ContainsFunc(balls, func(b Ball) bool { return b.Confidence >= bareCut }) {
		return usualCut
	}
	return bareCut
}

// Above gives the balls whose confidence is at least cut, as they are to be
// cut from the footage: of two that can't both be balls the surer one, and each
// stretch ends where the next begins.
func (r Result) Above(cut float64) []Ball { return Above(r.Balls, cut) }

// Above is Result.Above for balls that were kept, in any order. It leaves balls
// as it finds it.
func Above(balls []Ball, cut float64) []Ball {
	order := make([]int, 0, len(balls))
	for i, b := range balls {
		if b.Confidence >= cut {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(i, j int) int {
		switch a, b := balls[i], balls[j]; {
		case a.Confidence != b.Confidence:
			if a.Confidence > b.Confidence {
				return -1
			}
			return 1
		default:
			return int(a.Passing - b.Passing)
		}
	})
	var out []Ball // ascending
	for _, i := range order {
		b := balls[i]
		k, _ := slices.BinarySearchFunc(out, b.Passing, func(o Ball, at media.Micros) int { return int(o.Passing - at) })
		apart := media.FromSeconds(tooClose)
		if k > 0 && b.Passing-out[k-1].Passing < apart || k < len(out) && out[k].Passing-b.Passing < apart {
			continue
		}
		out = slices.Insert(out, k, b)
	}
	for i := 1; i < len(out); i++ {
		// The run-in of the next ball matters more than the end of this one.
		if a, b := &out[i-1], &out[i]; a.End > b.Start {
			cut := max(b.Start, a.Passing+media.Micros(keep*float64(b.Passing-a.Passing)))
			a.End, b.Start = min(a.End, cut), min(a.End, cut)
		}
	}
	return out
}

// Of gaps between balls, one that is breakTimes the usual one and at least
// breakLeast long is taken for the end of a block.
const (
	breakTimes = 3
	breakLeast = 25 * media.Second
)

// breaks lists the long gaps between proposed balls.
func breaks(balls []Ball) []media.Span {
	if len(balls) < 3 {
		return nil
	}
	gaps := make([]media.Micros, len(balls)-1)
	for i := range gaps {
		gaps[i] = balls[i+1].Passing - balls[i].Passing
	}
	long := max(breakTimes*middle(slices.Clone(gaps)), breakLeast)
	var out []media.Span
	for i, gap := range gaps {
		if gap >= long {
			out = append(out, media.Span{Start: balls[i].End, End: balls[i+1].Start})
		}
	}
	return out
}
