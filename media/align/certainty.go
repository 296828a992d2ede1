package align

import "math"

// certainty turns what speaks for a match and against it into a probability.
//
// Its numbers were chosen on invented pairs of recordings, from easy to
// hopeless: unrelated ones reach a brightness of 7 at most, right ones begin
// there; where another place was more than nine tenths as bright, either was right.
func (t *trial) certainty(f fitted, rival float64) (confidence float64, why string) {
	const (
		even, sharp   = 8.0, 0.07   // brightness at even odds; how quickly the odds change, in its logarithm
		close, margin = 0.93, 0.025 // the same for the share that another place reaches
		odd           = 200         // ppm: no two clocks differ as much
	)
	if f.count == 0 || t.found.sum <= 0 {
		return 0, "Nothing that both recordings hear was found."
	}
	heard := logistic(math.Log(t.found.bright/even) / sharp)
	alone := logistic((close - rival/t.found.sum) / margin)
	sharply := logistic((close - t.found.second/t.found.sum) / margin)
	confidence = heard * alone * sharply * (1 - 0.5/float64(f.count+1))
	if math.Abs(t.guess.rate+f.slope)*1e6 > odd {
		confidence /= 2
	}
	switch {
	case confidence >= Sure:
	case heard < Sure:
		why = "Too little that both recordings hear was found."
	case alone < Sure:
		why = "They fit at more than one place: what both hear repeats itself."
	default:
		why = "What both hear does not agree on one place."
	}
	return confidence, why
}

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }
