package plan

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Cell is how a player did against one type of ball: so many balls, of which
// so many went badly, by whatever rule the coach counts.
type Cell struct {
	Balls, Bad int
}

// Weight is what a cell says about how much of its type to plan. Rates are
// shares of balls that went badly.
type Weight struct {
	Share     float64 // of the balls to come; all shares come to 1
	Rate      float64 // as counted; 0 without balls
	Low, High float64 // its 95 % Wilson interval; 0 to 1 without balls
	Drawn     float64 // the rate drawn towards that of all types together
	Tells     bool    // enough balls, and the interval leaves the rate of all types together out
}

// PriorBalls is how many balls' worth the rate over all types counts when a
// cell's rate is drawn towards it. A convention, no source: with few balls a
// cell hardly moves, with forty it nearly stands by itself.
const PriorBalls = 10

// LeastBalls is how many balls a cell needs before it may move a share at all,
// however lopsided it is. A convention, no source.
const LeastBalls = 10

// Bounds of a suggested share, as multiples of an even one, so that no type is
// dropped and none drowns the others. A convention, no source.
const (
	leastShare = 0.5
	mostShare  = 2.0
)

// Suggest weighs types by a player's cells. Only a cell of LeastBalls or more
// whose interval leaves the rate of all types together out counts with its own
// (drawn) rate; the others count with that common rate, since they can't be
// told from it.
func Suggest(cells []Cell) []Weight {
	balls, bad := 0, 0
	for _, c := range cells {
		balls, bad = balls+c.Balls, bad+c.Bad
	}
	out := make([]Weight, len(cells))
	raw, total := make([]float64, len(cells)), 0.0
	common := 0.0
	if balls > 0 {
		common = float64(bad) / float64(balls)
	}
	for i, c := range cells {
		w := Weight{High: 1, Drawn: common}
		if c.Balls > 0 {
			w.Rate = float64(c.Bad) / float64(c.Balls)
			w.Low, w.High = Wilson(c.Bad, c.Balls)
			w.Drawn = (float64(c.Bad) + PriorBalls*common) / float64(c.Balls+PriorBalls)
			w.Tells = c.Balls >= LeastBalls && (common < w.Low || common > w.High)
		}
		raw[i] = 1
		if w.Tells && common > 0 {
			raw[i] = min(max(w.Drawn/common, leastShare), mostShare)
		}
		total += raw[i]
		out[i] = w
	}
	for i := range out {
		out[i].Share = raw[i] / total
	}
	return out
}

// Wilson is the score interval for a proportion without continuity correction
// (Wilson 1927, Journal of the American Statistical Association 22:209-212) at
// 95 %. n must be above 0.
func Wilson(x, n int) (low, high float64) {
	z := distuv.UnitNormal.Quantile(0.975)
	count, p := float64(n), float64(x)/float64(n)
	middle := p + z*z/(2*count)
	half := z * math.Sqrt(p*(1-p)/count+z*z/(4*count*count))
	whole := 1 + z*z/count
	return max(0, (middle-half)/whole), min(1, (middle+half)/whole)
}
