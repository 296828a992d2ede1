package measure

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Baseline is what is usual for one player.
type Baseline struct {
	Balls int     `json:"balls"`
	Mean  float64 `json:"mean"`
	SD    float64 `json:"sd"`  // from ball to ball, with the measuring's own part in it; 0 for fewer than two
	Low   float64 `json:"low"` // 95 % interval of the mean, Student's t; the mean itself for fewer than two
	High  float64 `json:"high"`
}

// confidence is the share of intervals that hold the true mean.
const confidence = 0.95

// BaselineOf sums up a player's values of one measure. Balls of a session are
// not independent of each other, so the interval is rather too narrow.
func BaselineOf(values []float64) Baseline {
	b := Baseline{Balls: len(values)}
	if b.Balls == 0 {
		return b
	}
	if b.Balls == 1 {
		b.Mean, b.Low, b.High = values[0], values[0], values[0]
		return b
	}
	b.Mean, b.SD = stat.MeanStdDev(values, nil)
	n := float64(b.Balls)
	d := student(n-1) * b.SD / math.Sqrt(n)
	b.Low, b.High = b.Mean-d, b.Mean+d
	return b
}

// student is the two-sided quantile of Student's t for confidence.
func student(free float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: free}.Quantile((1 + confidence) / 2)
}

// Away is how many of the player's own standard deviations a value lies from
// the player's mean; false with fewer than five balls or none that differ.
func (b Baseline) Away(value float64) (float64, bool) {
	if b.Balls < 5 || b.SD == 0 {
		return 0, false
	}
	return (value - b.Mean) / b.SD, true
}

// Change is the difference of two baselines of one player.
type Change struct {
	Difference float64 `json:"difference"` // now less before
	Low        float64 `json:"low"`        // 95 % interval, Welch's
	High       float64 `json:"high"`
	Plain      bool    `json:"plain"` // the interval leaves out nought: worth a look, no more
}

// ChangeOf compares now with before by Welch's t interval (Welch, Biometrika 34
// (1947) 28-35); false with fewer than two balls in one of them or when all
// values are alike.
func ChangeOf(before, now Baseline) (Change, bool) {
	c := Change{Difference: now.Mean - before.Mean}
	if before.Balls < 2 || now.Balls < 2 {
		return c, false
	}
	a, b := square(before.SD)/float64(before.Balls), square(now.SD)/float64(now.Balls)
	if a+b == 0 {
		return c, false
	}
	free := square(a+b) / (square(a)/float64(before.Balls-1) + square(b)/float64(now.Balls-1))
	d := student(free) * math.Sqrt(a+b)
	c.Low, c.High = c.Difference-d, c.Difference+d
	c.Plain = c.Low > 0 || c.High < 0
	return c, true
}

// median of values, which are left as they are; NaN for none.
func median(values []float64) float64 {
	if len(values) == 0 {
		return math.NaN()
	}
	s := slices.Sorted(slices.Values(values))
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}
