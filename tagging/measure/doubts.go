package measure

import (
	"fmt"
	"math"
	"slices"
)

// Proposed is a value that a model's points gave, for a person to look over.
type Proposed struct {
	Ball    int64  // whose
	Run     string // values that belong together: one player's, of one camera and block, in the order of time
	Value   Value
	Seen    float64 // visibility of the worst of its points, 0 to 1
	Crossed bool    // the front foot seems to be behind the back foot
}

// Doubt is a proposed value with the reasons to look at it.
type Doubt struct {
	Proposed
	Score   float64  // 0: nothing strikes; the more, the sooner it should be looked at
	Reasons []string // in words
}

// Limits at which something strikes.
const (
	dimlySeen = 0.5 // visibility below which a point is a guess
	halfVague = 0.5 // of the deviation at which a measure is refused: judgement
	// Iglewicz & Hoaglin, How to detect and handle outliers (1993), take a
	// modified z score above 3.5 for an outlier (from memory).
	strange   = 3.5
	shortRun  = 5  // values of a run below which nothing is said of its middle
	neighbour = 11 // values around one that it is compared with
)

// madToSigma makes a median absolute deviation comparable with the standard
// deviation of a normal distribution.
const madToSigma = 1.4826

// Doubts orders proposed values by how much they look wrong, the worst first;
// those that don't stay in order, last. A value strikes when one of its points
// was hardly seen, when it is very unsure, when the feet cross, and when it jumps
// from the run of the player's values, by median and median absolute deviation of those around it,
// which a few wrong values can't shift.
func Doubts(all []Proposed) []Doubt {
	runs := map[string][]int{}
	for i, p := range all {
		key := p.Run + "\x00" + p.Value.Measure
		runs[key] = append(runs[key], i)
	}
	doubts := make([]Doubt, len(all))
	for i, p := range all {
		doubts[i].Proposed = p
		if p.Seen < dimlySeen {
			doubts[i].add(2*(dimlySeen-p.Seen)/dimlySeen+1, fmt.Sprintf("A point was hardly seen (%.0f %%).", 100*p.Seen))
		}
		if m, ok := Find(p.Value.Measure); ok && p.Value.Sigma > halfVague*m.vague {
			doubts[i].add(1, fmt.Sprintf("%s is only told to ± %s %s.", m.Name, number(p.Value.Sigma, 0), m.Unit))
		}
		if p.Crossed {
			doubts[i].add(3, "The feet cross.")
		}
	}
	for _, run := range runs {
		values := make([]float64, len(run))
		for k, i := range run {
			values[k] = all[i].Value.Value
		}
		for k, i := range run {
			from := max(0, min(k-neighbour/2, len(run)-neighbour))
			around := values[from:min(len(run), from+neighbour)]
			if len(around) < shortRun {
				continue
			}
			mid := median(around)
			if z := math.Abs(values[k]-mid) / deviation(around, mid, all[i].Value.Sigma); z > strange {
				doubts[i].add(z/strange, fmt.Sprintf("%s is far from %s, which is usual here.", all[i].Value,
					number(mid, 0)+" "+string(all[i].Value.Unit)))
			}
		}
	}
	slices.SortStableFunc(doubts, func(a, b Doubt) int {
		switch {
		case a.Score > b.Score:
			return -1
		case a.Score < b.Score:
			return 1
		}
		return 0
	})
	return doubts
}

func (d *Doubt) add(score float64, reason string) {
	d.Score += score
	d.Reasons = append(d.Reasons, reason)
}

// deviation is a robust standard deviation about mid, at least that of one
// measurement: values that happen to be alike make nothing else strange.
func deviation(values []float64, mid, sigma float64) float64 {
	off := make([]float64, len(values))
	for i, v := range values {
		off[i] = math.Abs(v - mid)
	}
	return max(madToSigma*median(off), sigma, 1e-9)
}

// Crossed says whether on a frame the front heel lies behind the back heel, as
// when a model took one foot for the other; false when that can't be told.
func Crossed(c *Calibration, s *Sight) bool {
	if c == nil || s == nil {
		return false
	}
	f, ok1 := s.Points[FrontHeel]
	b, ok2 := s.Points[BackHeel]
	if !ok1 || !ok2 {
		return false
	}
	v := c.view()
	front, err1 := v.ground(Pixel{f.X, f.Y})
	back, err2 := v.ground(Pixel{b.X, b.Y})
	return err1 == nil && err2 == nil && front.X < back.X
}
