package split

import "math"

const crackSize = 20

// crackClues says what a bat's sound differs by from other sudden sounds, each
// about 0 to 3 in size. The last four bend at the least that a clear one has.
func crackClues(o onset) [crackSize]float64 {
	lift, fall, fade, alone := o.lift.high()/10, bound(o.fall, -5, 25)/10, bound(o.fade, -5, 35)/10, bound(o.alone, -20, 25)/10
	return [...]float64{
		1,
		lift,
		float64(min(o.lift[bandBody], o.lift[bandCrack])) / 10, // broad, not one band alone
		float64(o.lift[bandBright]) / 10,
		float64(o.lift[bandThud]) / 10,
		fall,
		fade,
		bound(o.before, -5, 40) / 10,
		o.busy,
		o.voiced,
		math.Log1p(max(o.rise, 0)),
		float64(min(max(o.snr[bandBody], o.snr[bandCrack]), 50)) / 10,
		bound(float64(o.peak[bandBody]-o.peak[bandThud])/10, -2, 2),
		alone,
		bound(float64(o.peak[bandCrack]-o.peak[bandBody])/10, -2, 2),
		bound(float64(o.peak[bandBright]-o.peak[bandCrack])/10, -3, 2),
		max(1.5-lift, 0),
		max(0.5-alone, 0),
		max(0.5-fall, 0),
		max(1-fade, 0),
	}
}

func bound(v, low, high float64) float64 { return min(max(v, low), high) }

// crackWeights were fitted by logistic regression to 28,000 sudden sounds of
// 170 invented sessions with calculated and recorded blows, talk and noise,
// none of them a scene that the split is judged by.
var crackWeights = [crackSize]float64{-3.29, -2.63, 1.27, 2.06, -0.37, 0.45, 0.76, -0.18, 1.40, -2.46, 0.04, 0.61, -0.45, 0.16, -0.95, 0.68, -2.69, -3.77, -1.85, -0.32}

// crackOdds is the log odds that a sudden sound is that of a bat, before
// anything is known of the session.
func crackOdds(o onset) float64 {
	var z float64
	for i, v := range crackClues(o) {
		z += v * crackWeights[i]
	}
	return z
}
