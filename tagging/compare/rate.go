package compare

import "math"

// Rate is how often something held: Hits of Of balls.
type Rate struct{ Hits, Of int }

// Gap says what keeps the rate from being one.
func (r Rate) Gap() Gap {
	switch {
	case r.Hits < 0 || r.Hits > r.Of:
		return BadCounts
	case r.Of == 0:
		return NoBalls
	}
	return None
}

// Add counts further balls in.
func (r Rate) Add(o Rate) Rate { return Rate{r.Hits + o.Hits, r.Of + o.Of} }

// value is the share itself; only of a rate without a gap.
func (r Rate) value() float64 { return float64(r.Hits) / float64(r.Of) }

// Share is the rate with Wilson's score interval, without continuity
// correction (E. B. Wilson 1927, J. Am. Stat. Assoc. 22:209-212; method 3 of
// R. G. Newcombe 1998, Statistics in Medicine 17:857-872).
func (r Rate) Share() Estimate {
	if g := r.Gap(); g != None {
		return missing(g)
	}
	n, p := float64(r.Of), r.value()
	middle := 2*n*p + z*z
	half := z * math.Sqrt(z*z+4*n*p*(1-p))
	e := Estimate{Value: p, Low: (middle - half) / (2 * (n + z*z)), High: (middle + half) / (2 * (n + z*z))}
	// Exactly, where rounding would leave a trace.
	if r.Hits == 0 {
		e.Low = 0
	}
	if r.Hits == r.Of {
		e.High = 1
	}
	return e
}

// Difference is a's share less b's with Newcombe's hybrid score interval,
// without continuity correction (method 10 of R. G. Newcombe 1998, Statistics
// in Medicine 17:873-890). The balls are taken as independent; see Bootstrap.
func Difference(a, b Rate) Estimate {
	x, y := a.Share(), b.Share()
	if g := firstGap(x.Gap, y.Gap); g != None {
		return missing(g)
	}
	d := x.Value - y.Value
	return Estimate{
		Value: d,
		Low:   math.Max(-1, d-math.Hypot(x.Value-x.Low, y.High-y.Value)),
		High:  math.Min(1, d+math.Hypot(x.High-x.Value, y.Value-y.Low)),
	}
}

// OddsRatio is the odds of a over the odds of b with the interval of its
// logarithm (B. Woolf 1955, Annals of Human Genetics 19:251-253), half a ball
// added to each of the four counts when one of them is 0 (J. B. S. Haldane
// 1956, Annals of Human Genetics 20:309-311), so that it is always finite.
func OddsRatio(a, b Rate) Estimate {
	if g := firstGap(a.Gap(), b.Gap()); g != None {
		return missing(g)
	}
	if g := varies(a, b); g != None {
		return missing(g)
	}
	w, x := float64(a.Hits), float64(a.Of-a.Hits)
	y, v := float64(b.Hits), float64(b.Of-b.Hits)
	if min(w, x, y, v) == 0 {
		w, x, y, v = w+.5, x+.5, y+.5, v+.5
	}
	log, se := math.Log(w*v/(x*y)), math.Sqrt(1/w+1/x+1/y+1/v)
	return Estimate{Value: math.Exp(log), Low: math.Exp(log - z*se), High: math.Exp(log + z*se)}
}

// Power is the chance with which BallsNeeded asks for a difference to be seen.
const Power = 0.8

// zPower is the standard normal deviate below which Power lies.
const zPower = 0.8416212335729143

// BallsNeeded is how many balls on each side would tell two rates apart, in
// Power of the cases and with 1 - Level of false alarms (two-sided):
//
//	(z + zPower)^2 (a(1-a) + b(1-b)) / (a-b)^2, rounded up
//
// The formula is that of the two-sample test of equality in S.-C. Chow,
// J. Shao & H. Wang, Sample Size Calculations in Clinical Research, section 4.2.
func BallsNeeded(a, b Rate) Figure {
	if g := firstGap(a.Gap(), b.Gap()); g != None {
		return Figure{Gap: g}
	}
	return needed(a.value(), b.value())
}

func needed(p, q float64) Figure {
	if p == q {
		return Figure{Gap: SameRate}
	}
	n := (z + zPower) * (z + zPower) * (p*(1-p) + q*(1-q)) / ((p - q) * (p - q))
	return Figure{Value: math.Max(2, math.Ceil(n))}
}

// varies says whether something held on some of the balls and not on others.
func varies(a, b Rate) Gap {
	if all := a.Add(b); all.Hits == 0 || all.Hits == all.Of {
		return AllOrNone
	}
	return None
}

func firstGap(gaps ...Gap) Gap {
	for _, g := range gaps {
		if g != None {
			return g
		}
	}
	return None
}
