package compare

import (
	"fmt"
	"math"

	"netreel/media/fault"
)

// Table is what two coders said of the same balls: Cells[i][j] of them got
// term i from the first and term j from the second. Terms are in the order of
// their group.
type Table struct {
	Terms []string
	Cells [][]int
}

// Pair is what two coders said of one ball.
type Pair struct{ First, Second string }

// NewTable counts pairs. Every term of a pair must be one of terms.
func NewTable(terms []string, pairs []Pair) (Table, error) {
	t := Table{Terms: terms, Cells: make([][]int, len(terms))}
	at := make(map[string]int, len(terms))
	for i, term := range terms {
		at[term] = i
		t.Cells[i] = make([]int, len(terms))
	}
	for _, p := range pairs {
		i, one := at[p.First]
		j, two := at[p.Second]
		if !one || !two {
			return Table{}, fault.New(fault.Invalid, "compare.NewTable",
				fmt.Sprintf("%q or %q is not a term of this group.", p.First, p.Second))
		}
		t.Cells[i][j]++
	}
	return t, nil
}

// Balls is how many balls both coders said something of.
func (t Table) Balls() int {
	n := 0
	for _, row := range t.Cells {
		for _, c := range row {
			n += c
		}
	}
	return n
}

// Alike is on how many of the balls they said the same, with Wilson's interval
// by its Share.
func (t Table) Alike() Rate {
	r := Rate{Of: t.Balls()}
	for i := range t.Cells {
		r.Hits += t.Cells[i][i]
	}
	return r
}

// Weights is how far a pair of terms, i and j of k, counts as agreement: 1 is
// the same, 0 is as far apart as can be.
type Weights func(i, j, k int) float64

// Same counts only the same term as agreement.
func Same(i, j, _ int) float64 {
	if i == j {
		return 1
	}
	return 0
}

// Linear counts the steps between two terms of an ordered group (D. V.
// Cicchetti & T. Allison 1971, American Journal of EEG Technology 11:101-109).
func Linear(i, j, k int) float64 { return 1 - apart(i, j, k) }

// Quadratic counts the square of the steps, so that neighbours differ little
// (J. L. Fleiss & J. Cohen 1973, Educational and Psychological Measurement
// 33:613-619).
func Quadratic(i, j, k int) float64 { return 1 - apart(i, j, k)*apart(i, j, k) }

func apart(i, j, k int) float64 {
	if k < 2 {
		return 0
	}
	return math.Abs(float64(i-j)) / float64(k-1)
}

// Kappa is J. Cohen's coefficient of agreement beyond chance (1960, Educational
// and Psychological Measurement 20:37-46), weighted (1968, Psychological
// Bulletin 70:213-220) unless w is Same; 1 is perfect, 0 what chance gives. Its
// interval comes from the standard error of J. L. Fleiss, J. Cohen & B. S.
// Everitt (1969, Psychological Bulletin 72:323-327). It is not defined when
// both coders used one and the same term throughout.
func (t Table) Kappa(w Weights) Estimate {
	e, se := t.kappa(w)
	if !e.Known() {
		return e
	}
	return coefficient(e.Value, se)
}

func (t Table) kappa(w Weights) (Estimate, float64) {
	s := t.shares()
	if s.n == 0 {
		return missing(NoBalls), 0
	}
	k := len(t.Cells)
	var po, pe float64
	rowMean, colMean := make([]float64, k), make([]float64, k)
	for i := range k {
		for j := range k {
			weight := w(i, j, k)
			po += weight * s.cell[i][j]
			pe += weight * s.first[i] * s.second[j]
			rowMean[i] += weight * s.second[j]
			colMean[j] += weight * s.first[i]
		}
	}
	if 1-pe < tiny {
		return missing(OneTerm), 0
	}
	kappa := (po - pe) / (1 - pe)
	var sum float64
	for i := range k {
		for j := range k {
			d := w(i, j, k) - (rowMean[i]+colMean[j])*(1-kappa)
			sum += s.cell[i][j] * d * d
		}
	}
	off := kappa - pe*(1-kappa)
	return Estimate{Value: kappa}, root(sum-off*off) / ((1 - pe) * math.Sqrt(s.n))
}

// AC is K. L. Gwet's agreement coefficient, which does not collapse, as kappa
// does, when nearly all balls get the same term: AC1 with Same, else AC2 (2008,
// British Journal of Mathematical and Statistical Psychology 61:29-48; Handbook
// of Inter-Rater Reliability, 4th ed. 2014, chapters 4 to 6). Terms that
// neither coder used are no part of it, since each would raise it. It is not
// defined when only one term was used.
func (t Table) AC(w Weights) Estimate {
	e, se := t.ac(w)
	if !e.Known() {
		return e
	}
	return coefficient(e.Value, se)
}

func (t Table) ac(w Weights) (Estimate, float64) {
	s := t.shares()
	if s.n == 0 {
		return missing(NoBalls), 0
	}
	k := len(t.Cells)
	var used []int
	for i := range k {
		if s.first[i]+s.second[i] > 0 {
			used = append(used, i)
		}
	}
	q := float64(len(used))
	if q < 2 {
		return missing(OneTerm), 0
	}
	var pa, spread, all float64
	both := func(i int) float64 { return (s.first[i] + s.second[i]) / 2 }
	for _, i := range used {
		spread += both(i) * (1 - both(i))
		for _, j := range used {
			pa += w(i, j, k) * s.cell[i][j]
			all += w(i, j, k)
		}
	}
	per := all / (q * (q - 1))
	pe := per * spread
	if 1-pe < tiny {
		return missing(OneTerm), 0
	}
	ac := (pa - pe) / (1 - pe)
	var sum float64
	for _, i := range used {
		for _, j := range used {
			d := w(i, j, k) - 2*(1-ac)*per*(1-(both(i)+both(j))/2)
			sum += s.cell[i][j] * d * d
		}
	}
	off := pa - 2*(1-ac)*pe
	return Estimate{Value: ac}, root(sum-off*off) / ((1 - pe) * math.Sqrt(s.n))
}

// tiny is a share that is nothing but rounding: far less than one ball of the
// most that can be counted.
const tiny = 1e-12

// shares is a table as parts of 1, with its margins.
type shares struct {
	n             float64
	cell          [][]float64
	first, second []float64
}

func (t Table) shares() shares {
	k := len(t.Cells)
	s := shares{n: float64(t.Balls()), cell: make([][]float64, k), first: make([]float64, k), second: make([]float64, k)}
	for i := range k {
		s.cell[i] = make([]float64, k)
		if s.n == 0 {
			continue
		}
		for j := range k {
			p := float64(t.Cells[i][j]) / s.n
			s.cell[i][j] = p
			s.first[i] += p
			s.second[j] += p
		}
	}
	return s
}
