package split

import "math"

const crackSize = 12

// crackClues says what a bat's sound differs by from other sudden sounds, each
// about 0 to 3 in size.
func crackClues(o onset) [crackSize]float64 {
	return [...]float64{
		1,
		o.lift.high() / 10,
		float64(min(o.lift[bandBody], o.lift[bandCrack])) / 10, // broad, not one band alone
		float64(o.lift[bandThud]) / 10,
		o.fall / 10,
		o.fade / 10,
		o.before / 10,
		o.busy,
		o.voiced,
		math.Log1p(max(o.rise, 0)),
		float64(min(max(o.snr[bandBody], o.snr[bandCrack]), 50)) / 10,
		min(max(float64(o.peak[bandBody]-o.peak[bandThud])/10, -2), 2),
	}
}

// crackWeights were fitted by logistic regression to the sudden sounds of
// invented sessions (the tuning scenes of the tests).
var crackWeights = [crackSize]float64{-9.30, 0.95, -0.74, -0.20, 0.95, 0.81, 0.95, 0.05, -1.96, -0.48, 1.08, -0.25}

// crackOdds is the log odds that a sudden sound is that of a bat, before
// anything is known of the session.
func crackOdds(o onset) float64 {
	var z float64
	for i, v := range crackClues(o) {
		z += v * crackWeights[i]
	}
	return z
}
