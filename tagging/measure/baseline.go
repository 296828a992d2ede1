package measure

import (
	"slices"

	"gonum.org/v1/gonum/stat"
)

// Baseline is what is usual for one player: there is no published norm for most
// measures, so a value is held against the player's own. Whether two sets of
// values differ is for package compare to say.
type Baseline struct {
	Balls int     `json:"balls"`
	Mean  float64 `json:"mean"`
	SD    float64 `json:"sd"` // from ball to ball, with the measuring's own part in it; 0 for fewer than two
}

// BaselineOf sums up a player's values of one measure.
func BaselineOf(values []float64) Baseline {
	b := Baseline{Balls: len(values)}
	switch b.Balls {
	case 0:
	case 1:
		b.Mean = values[0]
	default:
		b.Mean, b.SD = stat.MeanStdDev(values, nil)
	}
	return b
}

// fewBalls is the number of balls below which nothing is called usual.
const fewBalls = 5

// Away is how many of the player's own standard deviations a value lies from
// the player's mean; false with too few balls or none that differ.
func (b Baseline) Away(value float64) (float64, bool) {
	if b.Balls < fewBalls || b.SD == 0 {
		return 0, false
	}
	return (value - b.Mean) / b.SD, true
}

// median of values, of which there is one at least; they are left as they are.
func median(values []float64) float64 {
	s := slices.Sorted(slices.Values(values))
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}
