package compare

import (
	"cmp"
	"math"
	"slices"
)

// Trend is whether a series rises or falls, whatever the shape of it: H. B.
// Mann's test (1945, Econometrica 13:245-259) with the slope of P. K. Sen
// (1968, Journal of the American Statistical Association 63:1379-1389).
type Trend struct {
	S      int      // pairs that rise less pairs that fall
	Z      Figure   // S as a standard normal deviate, continuity corrected
	Chance Figure   // two-sided; exact up to ten unlike values, else from Z
	Slope  Estimate // the unit of the values for each step of the series
}

// FewestPoints is the shortest series that a test is made of: no four values
// can be told from chance. MostPoints bounds the pairs that a slope is made of.
const (
	FewestPoints = 5
	MostPoints   = 2000
)

// exactPoints is up to which length M. G. Kendall's exact chances are used, as
// R. O. Gilbert advises (Statistical Methods for Environmental Pollution
// Monitoring, 1987, section 16.4.1).
const exactPoints = 10

// MannKendall tests a series, in its order, for a trend. Values are taken as
// equally far apart; balls of one session should be made one value first.
func MannKendall(y []float64) Trend {
	gap := series(y)
	if gap == None && len(y) > MostPoints {
		gap = ManyPoints
	}
	if gap != None {
		return Trend{Z: Figure{Gap: gap}, Chance: Figure{Gap: gap}, Slope: missing(gap)}
	}
	var t Trend
	slopes := make([]float64, 0, len(y)*(len(y)-1)/2)
	for i := range y {
		for j := i + 1; j < len(y); j++ {
			t.S += cmp.Compare(y[j], y[i])
			slopes = append(slopes, (y[j]-y[i])/float64(j-i))
		}
	}
	variance, ties := varianceOfS(y)
	if variance == 0 {
		t.Z, t.Chance = Figure{Gap: AllAlike}, Figure{Gap: AllAlike}
		return t
	}
	t.Z = Figure{Value: float64(t.S-cmp.Compare(t.S, 0)) / math.Sqrt(variance)}
	if len(y) <= exactPoints && !ties {
		t.Chance = Figure{Value: exactKendall(len(y), t.S)}
	} else {
		t.Chance = Figure{Value: math.Erfc(math.Abs(t.Z.Value) / math.Sqrt2)}
	}
	slices.Sort(slopes)
	// Ranks of the limits, Gilbert 1987, section 16.5.
	half, n := z*math.Sqrt(variance), float64(len(slopes))
	t.Slope = Estimate{
		Value: quantile(slopes, .5),
		Low:   ranked(slopes, (n-half)/2),
		High:  ranked(slopes, (n+half)/2+1),
	}
	return t
}

// series says what keeps a series from being tested.
func series(y []float64) Gap {
	if len(y) < FewestPoints {
		return FewPoints
	}
	return numbers(y)
}

// varianceOfS allows for equal values (M. G. Kendall, Rank Correlation
// Methods, 4th ed. 1975).
func varianceOfS(y []float64) (variance float64, ties bool) {
	term := func(n int) float64 { return float64(n) * float64(n-1) * float64(2*n+5) }
	sorted := slices.Sorted(slices.Values(y))
	sum := term(len(y))
	for i, j := 0, 0; i < len(sorted); i = j {
		for j = i; j < len(sorted) && sorted[j] == sorted[i]; j++ {
		}
		if j-i > 1 {
			sum -= term(j - i)
			ties = true
		}
	}
	return sum / 18, ties
}

// exactKendall is the chance that |S| is at least as large among all orders of
// n unlike values, by the number of orders with each count of inversions.
func exactKendall(n, s int) float64 {
	orders := []float64{1}
	for m := 2; m <= n; m++ {
		next := make([]float64, len(orders)+m-1)
		for inversions, count := range orders {
			for k := range m {
				next[inversions+k] += count
			}
		}
		orders = next
	}
	pairs, extreme, all := n*(n-1)/2, 0.0, 0.0
	for inversions, count := range orders {
		all += count
		if got := pairs - 2*inversions; max(got, -got) >= max(s, -s) {
			extreme += count
		}
	}
	return extreme / all
}

// ranked is the value of a rank that counts from 1, between the two nearest,
// and the first or last beyond the ends.
func ranked(sorted []float64, rank float64) float64 {
	return quantile(sorted, math.Max(0, math.Min(1, (rank-1)/float64(max(1, len(sorted)-1)))))
}

// Change is the place where a series most likely shifts.
type Change struct {
	After         int     // values before the shift: it lies between After-1 and After
	K             float64 // the largest of the test's statistics
	Chance        Figure  // two-sided, approximate; good below 0.5
	Before, Since float64 // medians of the two parts
}

// Pettitt looks for one shift in a series by the test of A. N. Pettitt (1979,
// Applied Statistics 28:126-135).
func Pettitt(y []float64) Change {
	if g := series(y); g != None {
		return Change{Chance: Figure{Gap: g}}
	}
	// U after t values is the signs of every pair across; each value moves it
	// by its own pairs alone, which doubled ranks count.
	sorted := slices.Sorted(slices.Values(y))
	var c Change
	n, u := len(y), 0
	for t, v := range y[:n-1] {
		below, _ := slices.BinarySearch(sorted, v)
		notAbove, _ := slices.BinarySearchFunc(sorted, v, func(e, v float64) int {
			if e <= v {
				return -1
			}
			return 1
		})
		u += below - (n - notAbove)
		if k := math.Abs(float64(u)); k > c.K {
			c.K, c.After = k, t+1
		}
	}
	if c.K == 0 {
		return Change{Chance: Figure{Gap: AllAlike}}
	}
	size := float64(n)
	c.Chance = Figure{Value: math.Min(1, 2*math.Exp(-6*c.K*c.K/(size*size*size+size*size)))}
	c.Before, c.Since = median(y[:c.After]), median(y[c.After:])
	return c
}
