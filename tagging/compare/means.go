package compare

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Reading is one measured value of one ball, in any unit.
type Reading struct {
	Session int64
	Feed    string // in the words to show, "" when nobody said
	Value   float64
}

// MeanComparison is the means of two sets of readings held against each
// other, in the unit of the readings.
type MeanComparison struct {
	NA, NB       int
	MeanA, MeanB Estimate
	Difference   Estimate // A less B, Welch's interval
	Tested                // Welch's chance, two-sided
	Sessions     Clustered
	Feeds        []FeedMeans // ascending
}

// FeedMeans is a comparison of the balls that were fed in one way.
type FeedMeans struct {
	Feed       string
	NA, NB     int
	Difference Estimate
	Chance     Figure
}

// Means holds two sets of readings against each other; see Rates
// for feeds and seed.
func Means(a, b []Reading, seed uint64) MeanComparison {
	c := MeanComparison{NA: len(a), NB: len(b)}
	c.MeanA, c.MeanB = Mean(values(a)), Mean(values(b))
	difference, chance := Welch(values(a), values(b))
	c.Difference, c.Tested = difference, alone(chance)
	sessions, feeds := map[int64]totals{}, map[string]*[2][]float64{}
	for side, readings := range [2][]Reading{a, b} {
		for _, r := range readings {
			t := sessions[r.Session]
			t.sum[side] += r.Value
			t.n[side]++
			sessions[r.Session] = t
			if feeds[r.Feed] == nil {
				feeds[r.Feed] = &[2][]float64{}
			}
			feeds[r.Feed][side] = append(feeds[r.Feed][side], r.Value)
		}
	}
	if g := firstGap(numbers(values(a)), numbers(values(b))); g != None {
		c.Sessions.Difference = missing(g)
		c.Sessions.Rough = true
	} else {
		c.Sessions = bootstrap(sessions, seed)
	}
	for feed, v := range feeds {
		d, p := Welch(v[0], v[1])
		c.Feeds = append(c.Feeds, FeedMeans{feed, len(v[0]), len(v[1]), d, p})
	}
	slices.SortFunc(c.Feeds, func(x, y FeedMeans) int { return cmp.Compare(x.Feed, y.Feed) })
	return c
}

// Warning says that balls which were fed in different ways are counted
// together; "" when they are not.
func (c MeanComparison) Warning() string {
	feeds := make([]fed, len(c.Feeds))
	for i, f := range c.Feeds {
		feeds[i] = fed{f.Feed, f.NA + f.NB}
	}
	return mixed(feeds)
}

// Mean is the mean of readings with Student's interval. One reading has no
// interval: the gap is OneBall.
func Mean(x []float64) Estimate {
	if g := numbers(x); g != None {
		return missing(g)
	}
	if len(x) == 1 {
		return missing(OneBall)
	}
	m, sd := stat.MeanStdDev(x, nil)
	half := student(float64(len(x)-1)) * sd / math.Sqrt(float64(len(x)))
	return Estimate{Value: m, Low: m - half, High: m + half}
}

// Welch is the difference of two means, a less b, with the interval and the
// two-sided chance of B. L. Welch (1947, Biometrika 34:28-35), which does not
// take the spreads to be equal; degrees of freedom after F. E. Satterthwaite
// (1946, Biometrics Bulletin 2:110-114).
func Welch(a, b []float64) (Estimate, Figure) {
	gap := firstGap(numbers(a), numbers(b))
	if gap == None && min(len(a), len(b)) < 2 {
		gap = OneBall
	}
	if gap != None {
		return missing(gap), Figure{Gap: gap}
	}
	ma, va := stat.MeanVariance(a, nil)
	mb, vb := stat.MeanVariance(b, nil)
	ea, eb := va/float64(len(a)), vb/float64(len(b))
	d, se := ma-mb, math.Sqrt(ea+eb)
	// Readings that are the same leave a spread of nothing but rounding.
	if se <= 1e-12*math.Max(math.Abs(ma), math.Abs(mb)) {
		return missing(AllAlike), Figure{Gap: AllAlike}
	}
	part := ea / (ea + eb)
	freedom := 1 / (part*part/float64(len(a)-1) + (1-part)*(1-part)/float64(len(b)-1))
	half := student(freedom) * se
	chance := 2 * distuv.StudentsT{Sigma: 1, Nu: freedom}.CDF(-math.Abs(d)/se)
	return Estimate{Value: d, Low: d - half, High: d + half}, Figure{Value: math.Min(1, chance)}
}

// student is the deviate of Student's t that leaves 2.5 per cent above it.
func student(freedom float64) float64 {
	return distuv.StudentsT{Sigma: 1, Nu: freedom}.Quantile((1 + Level) / 2)
}

// largest is beyond any measure; squares of such readings would overflow.
const largest = 1e60

// numbers says what keeps readings from having a mean.
func numbers(x []float64) Gap {
	if len(x) == 0 {
		return NoBalls
	}
	for _, v := range x {
		if math.IsNaN(v) || math.Abs(v) > largest {
			return BadNumbers
		}
	}
	return None
}

func values(readings []Reading) []float64 {
	out := make([]float64, len(readings))
	for i, r := range readings {
		out[i] = r.Value
	}
	return out
}
