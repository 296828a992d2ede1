package compare

// TermAgreement is how two coders agree on one term of a group against all
// others together.
type TermAgreement struct {
	Term          string
	First, Second int // balls on which each saw it
	Both          int // balls on which both did
	Of            int // balls that both spoke of
	Alike         Estimate
	Kappa         Estimate
	AC            Estimate
}

// ByTerm takes a table apart: each term against the rest.
func (t Table) ByTerm() []TermAgreement {
	n := t.Balls()
	out := make([]TermAgreement, len(t.Terms))
	for i, term := range t.Terms {
		var first, second int
		for j := range t.Cells {
			first += t.Cells[i][j]
			second += t.Cells[j][i]
		}
		out[i] = YesNo(term, t.Cells[i][i], first, second, n)
	}
	return out
}

// YesNo is the agreement on one term of a group of which several may hold:
// of n balls both saw it on both, the first on first, the second on second.
func YesNo(term string, both, first, second, n int) TermAgreement {
	pair := Table{Terms: []string{term, ""}, Cells: [][]int{
		{both, first - both},
		{second - both, n - first - second + both},
	}}
	return TermAgreement{
		Term: term, First: first, Second: second, Both: both, Of: n,
		Alike: pair.Alike().Share(), Kappa: pair.Kappa(Same), AC: pair.AC(Same),
	}
}

// Trust is whether a term's counts may be built on.
type Trust string

// The answers. Unproven says that there is nothing to judge by: neither coder
// saw the term, or one of them saw nothing else.
const (
	Trusted   Trust = "trusted"
	Untrusted Trust = "untrusted"
	Unproven  Trust = "unproven"
)

// Trust compares kappa with a floor that the coach chose, such as 0.6. No
// value suits every purpose (R. Bakeman, D. McArthur, V. Quera & B. F.
// Robinson 1997, Psychological Methods 2:357-370).
func (a TermAgreement) Trust(floor float64) Trust {
	switch {
	case !a.Kappa.Known():
		return Unproven
	case a.Kappa.Value < floor:
		return Untrusted
	}
	return Trusted
}
