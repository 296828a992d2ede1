package plan

import (
	"math"
	"slices"
)

// Tap is a press on the feeder's card: a ball of the sequence was given.
type Tap struct {
	Planned int     // counts from 0
	At      float64 // s, by the phone's clock as it was laid on the balls'
}

// How taps tell one ball from another, in seconds. Judgement, no source: a
// feeder presses as the ball is given or on the walk back from it, and two
// balls of one feeder do not come within so short a time.
const (
	together = 2.5 // a tap and a ball no further apart speak of the same one for nothing
	beside   = 5.0 // ... and no further apart, at the price of a doubt
	stepOff  = 0.5 // how finely offsets of the phone's clock are tried
)

// What times add to the costs of an alignment. tapDoubt, of a tap that lies
// beside its ball, is less than a slip: hands are slow more often than feeders
// miss. tapMissed, of a ball that was pressed and is not there, is more than a
// slip and a ball left out together, so that taps which fall on balls decide.
// tooFar is more than an extra ball and one that is missing.
const (
	tapDoubt  = 2
	tapMissed = slipCost + gapCost + 1
	tooFar    = gapCost + tapMissed + 1
)

// AlignTimed is Align with when the balls were: at has each delivered ball's
// moment and taps what the feeder pressed, in seconds on clocks that may differ
// by off at most. A tap and a ball that lie apart are not the same one. Of all
// offsets the best alignment wins; a pair is Sure when no alignment that is as
// good, by this or another offset, matches it differently, and it was pressed
// or coded as it was planned: where a feeder presses, one that nobody pressed
// may be an extra ball as well. Without taps it is Align.
func AlignTimed(planned Sequence, seen []int, at []float64, taps []Tap, off float64) []Match {
	pressed := firstTaps(taps, len(planned))
	if len(pressed) == 0 {
		return Align(planned, seen)
	}
	missing := func(i int) int {
		if _, ok := pressed[i]; ok {
			return tapMissed
		}
		return gapCost
	}
	best := math.MaxInt
	var found []Match
	for _, o := range offsets(pressed, at, off) {
		matches, cost := alignment{planned, seen, apart(pressed, at, o), missing}.best()
		switch {
		case cost < best:
			best, found = cost, matches
		case cost == best:
			agree(found, matches)
		}
	}
	for i, m := range found {
		if m.Planned >= 0 && m.Delivered >= 0 {
			_, tapped := pressed[m.Planned]
			found[i].Sure = m.Sure && (tapped || seen[m.Delivered] == planned[m.Planned])
		}
	}
	return found
}

// firstTaps is when each planned ball was first said to be given: two phones
// may both have pressed.
func firstTaps(taps []Tap, planned int) map[int]float64 {
	first := map[int]float64{}
	for _, t := range taps {
		if t.Planned < 0 || t.Planned >= planned {
			continue
		}
		if was, ok := first[t.Planned]; !ok || t.At < was {
			first[t.Planned] = t.At
		}
	}
	return first
}

// offsets lists how much later the phone's clock may show a moment, in steps;
// only those by which some tap falls on some ball, and none at all.
func offsets(taps map[int]float64, at []float64, off float64) []float64 {
	list := []float64{0}
	for _, tap := range taps {
		for _, ball := range at {
			if d := tap - ball; math.Abs(d) <= off {
				list = append(list, math.Round(d/stepOff)*stepOff)
			}
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// apart prices how far a tap lies from a ball. A ball that lies with one tap
// was not another planned ball that nobody pressed; away from all taps it may
// have been.
func apart(taps map[int]float64, at []float64, offset float64) func(i, j int) int {
	near := func(tap, ball float64) int {
		switch d := math.Abs(tap - offset - ball); {
		case d <= together:
			return 0
		case d <= beside:
			return tapDoubt
		default:
			return tooFar
		}
	}
	claimed := make([]int, len(at)) // what it costs to say that a ball was one that nobody pressed
	for j, ball := range at {
		for _, tap := range taps {
			claimed[j] = max(claimed[j], tooFar-near(tap, ball))
		}
	}
	return func(i, j int) int {
		if tap, ok := taps[i]; ok {
			return near(tap, at[j])
		}
		return claimed[j]
	}
}

// agree takes the sureness from balls that another alignment, as good, matches
// differently.
func agree(found, other []Match) {
	partner := map[int]int{}
	for _, m := range other {
		if m.Delivered >= 0 {
			partner[m.Delivered] = m.Planned
		}
	}
	sure := map[int]bool{}
	for _, m := range other {
		sure[m.Delivered] = m.Sure
	}
	for i, m := range found {
		if m.Delivered >= 0 {
			found[i].Sure = m.Sure && sure[m.Delivered] && partner[m.Delivered] == m.Planned
		}
	}
}
