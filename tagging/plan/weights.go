package plan

import "netreel/tagging/compare"

// Weight is what a player's cell (how often balls of one type went badly, by
// whatever rule the coach counts) says about how much of that type to plan.
type Weight struct {
	Share     float64 // of the balls to come; all shares come to 1
	Rate      float64 // as counted; 0 without balls
	Low, High float64 // its 95 % Wilson interval; 0 to 1 without balls
	Drawn     float64 // the rate drawn towards that of all types together
	Tells     bool    // enough balls, and the interval leaves the rate of all types together out
}

// Cell is a term with how a player's balls of it went, and what that says.
type Cell struct {
	Term, Name string
	Balls, Bad int
	Weight
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
func Suggest(cells []compare.Rate) []Weight {
	var all compare.Rate
	for _, c := range cells {
		all = all.Add(c)
	}
	common := all.Share().Value // 0 without balls
	out := make([]Weight, len(cells))
	raw, total := make([]float64, len(cells)), 0.0
	for i, c := range cells {
		w := Weight{High: 1, Drawn: common}
		if e := c.Share(); e.Known() {
			w.Rate, w.Low, w.High = e.Value, e.Low, e.High
			w.Drawn = (float64(c.Hits) + PriorBalls*common) / float64(c.Of+PriorBalls)
			w.Tells = c.Of >= LeastBalls && (common < w.Low || common > w.High)
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
