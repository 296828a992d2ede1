package compare

import "math"

// Fisher is the chance of a difference at least as odd as this one, were the
// two rates the same: R. A. Fisher's exact test (The Design of Experiments,
// 1935, chapter 2). It is two-sided in the usual sense: of all tables with
// these totals it adds up the chances of those that are no likelier than the
// one seen. Where all balls are alike the chance is 1.
func Fisher(a, b Rate) Figure {
	if g := firstGap(a.Gap(), b.Gap()); g != None {
		return Figure{Gap: g}
	}
	t := tables{a.Of, b.Of, a.Hits + b.Hits}
	seen, sum := t.log(a.Hits), 0.0
	for hits := t.least(); hits <= t.most(); hits++ {
		// Two tables of equal chance differ by rounding: 1e-7 parts is beyond it.
		if l := t.log(hits); l <= seen+1e-7 {
			sum += math.Exp(l)
		}
	}
	return Figure{Value: math.Min(1, sum)}
}

// tables are the two-by-two tables with given totals, told apart by the hits
// on the first side.
type tables struct{ a, b, hits int }

func (t tables) least() int { return max(0, t.hits-t.b) }
func (t tables) most() int  { return min(t.a, t.hits) }

// log is the logarithm of the hypergeometric chance of a table.
func (t tables) log(hits int) float64 {
	return logChoose(t.a, hits) + logChoose(t.b, t.hits-hits) - logChoose(t.a+t.b, t.hits)
}

func logChoose(n, k int) float64 {
	return logFactorial(n) - logFactorial(k) - logFactorial(n-k)
}

func logFactorial(n int) float64 {
	l, _ := math.Lgamma(float64(n) + 1)
	return l
}
