package compare_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/tagging/compare"
)

func table(cells ...[]int) compare.Table {
	t := compare.Table{Cells: cells}
	for i := range cells {
		t.Terms = append(t.Terms, string(rune('a'+i)))
	}
	return t
}

const z = 1.959963984540054

// se reads the standard error back from an interval that no bound cuts.
func se(e compare.Estimate) float64 { return (e.High - e.Low) / (2 * z) }

// The table of J. Cohen 1968, Psychological Bulletin 70:213-220, with his
// weights (cells from memory). All figures, and the standard errors of Fleiss,
// Cohen & Everitt, are those of cohens_kappa in statsmodels 0.13.5.
func TestKappaAgainstCohen(t *testing.T) {
	t.Parallel()
	c := table([]int{88, 14, 18}, []int{10, 40, 10}, []int{2, 6, 12})
	assert.InDelta(t, .70, c.Alike().Share().Value, 1e-12)
	assert.InDelta(t, .49152542372881347, c.Kappa(compare.Same).Value, 1e-14)
	assert.InDelta(t, .05100181557607786, se(c.Kappa(compare.Same)), 1e-14)
	disagreement := [][]float64{{0, 1, 3}, {1, 0, 6}, {3, 6, 0}}
	weighted := c.Kappa(func(i, j, _ int) float64 { return 1 - disagreement[i][j]/6 })
	assert.InDelta(t, .3478260869565216, weighted.Value, 1e-14)
	assert.InDelta(t, .07550401525482296, se(weighted), 1e-14)
	assert.InDelta(t, .4736842105263158, c.Kappa(compare.Linear).Value, 1e-14)
	assert.InDelta(t, .054432309177641525, se(c.Kappa(compare.Linear)), 1e-14)
	assert.InDelta(t, .4545454545454546, c.Kappa(compare.Quadratic).Value, 1e-14)
	assert.InDelta(t, .06645368159107812, se(c.Kappa(compare.Quadratic)), 1e-14)
}

// P. O'Donoghue 2010, Research Methods for Sports Performance Analysis, tables
// 7.1 and 7.2: two observers of tennis points, 1256 of 1356 alike. Only margins
// and diagonal are printed; kappa needs no more, so what is off the diagonal is
// spread here so as to keep both.
func TestKappaAgainstSport(t *testing.T) {
	t.Parallel()
	rows := []int{79, 42, 237, 19, 169, 92, 718}
	cols := []int{80, 41, 243, 19, 151, 78, 744}
	same := []int{78, 38, 232, 17, 131, 70, 690}
	c := table(spread(rows, cols, same)...)
	assert.Equal(t, compare.Rate{Hits: 1256, Of: 1356}, c.Alike())
	assert.InDelta(t, .887549, c.Kappa(compare.Same).Value, 5e-7)
	assert.InDelta(t, .917207, c.AC(compare.Same).Value, 5e-7)
}

// spread fills a table off its diagonal, ball by ball from the fullest margins.
func spread(rows, cols, same []int) [][]int {
	cells, row, col := make([][]int, len(rows)), make([]int, len(rows)), make([]int, len(rows))
	for i := range rows {
		cells[i] = make([]int, len(rows))
		cells[i][i], row[i], col[i] = same[i], rows[i]-same[i], cols[i]-same[i]
	}
	for {
		from, to := -1, -1
		for i := range row {
			for j := range col {
				if i != j && row[i] > 0 && col[j] > 0 && (from < 0 || row[i]+col[j]+row[j]+col[i] > row[from]+col[to]+row[to]+col[from]) {
					from, to = i, j
				}
			}
		}
		if from < 0 {
			return cells
		}
		cells[from][to]++
		row[from]--
		col[to]--
	}
}

// K. L. Gwet, irrCAC (R package) vignette on contingency tables: kappa
// 0.7964094 with standard error 0.0589107, of which statsmodels 0.13.5 has more
// places. AC1 there is 0.8493305.
func TestAgreementAgainstGwet(t *testing.T) {
	t.Parallel()
	c := table([]int{13, 0, 0}, []int{0, 20, 7}, []int{0, 4, 56})
	assert.InDelta(t, .7964094021839719, c.Kappa(compare.Same).Value, 1e-14)
	assert.InDelta(t, .05891071832608148, se(c.Kappa(compare.Same)), 1e-14)
	assert.InDelta(t, .8493305, c.AC(compare.Same).Value, 5e-8)
}

// The R package Delta documents 0.5 with 0.09682458 for the first table; the
// pair after it agrees equally and has unlike kappas; the last is a paradox as
// K. L. Gwet describes it, where kappa is below 0 though 94 per cent agree.
// Kappas and standard errors are those of statsmodels 0.13.5.
func TestKappaOfTwo(t *testing.T) {
	t.Parallel()
	k := table([]int{50, 10}, []int{10, 20}).Kappa(compare.Same)
	assert.InDelta(t, .5, k.Value, 1e-12)
	assert.InDelta(t, .09682458365518543, se(k), 1e-14)
	assert.InDelta(t, .13043478260869554, table([]int{45, 15}, []int{25, 15}).Kappa(compare.Same).Value, 1e-14)
	assert.InDelta(t, .25925925925925924, table([]int{25, 35}, []int{5, 35}).Kappa(compare.Same).Value, 1e-14)
	paradox := table([]int{118, 5}, []int{2, 0})
	assert.InDelta(t, -.02339181286549608, paradox.Kappa(compare.Same).Value, 1e-14)
	assert.InDelta(t, .012286756672845256, se(paradox.Kappa(compare.Same)), 1e-12)
	assert.InDelta(t, .940776, paradox.AC(compare.Same).Value, 5e-7)
}

func TestAgreementThatIsNotDefined(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		table compare.Table
		gap   compare.Gap
	}{
		"no terms":          {table(), compare.NoBalls},
		"no balls":          {table([]int{0, 0}, []int{0, 0}), compare.NoBalls},
		"one term":          {table([]int{5}), compare.OneTerm},
		"one of two terms":  {table([]int{5, 0}, []int{0, 0}), compare.OneTerm},
		"one ball, alike":   {table([]int{0, 0}, []int{0, 1}), compare.OneTerm},
		"one ball, unalike": {table([]int{0, 1}, []int{0, 0}), compare.None},
	} {
		for _, w := range []compare.Weights{compare.Same, compare.Linear, compare.Quadratic} {
			assert.Equal(t, c.gap, c.table.Kappa(w).Gap, name)
			assert.Equal(t, c.gap, c.table.AC(w).Gap, name)
		}
	}
	assert.Equal(t, "not defined: only one term was used", compare.OneTerm.String())
	_, err := compare.NewTable([]string{"full"}, []compare.Pair{{First: "full", Second: "short"}})
	assert.ErrorContains(t, err, `"short"`)
}

func TestByTermAndTrust(t *testing.T) {
	t.Parallel()
	pairs := []compare.Pair{{"full", "full"}, {"full", "full"}, {"good", "good"}, {"good", "full"}, {"good", "good"}}
	c, err := compare.NewTable([]string{"full", "good", "short"}, pairs)
	require.NoError(t, err)
	terms := c.ByTerm()
	full := terms[0]
	assert.Equal(t, []int{2, 3, 2, 5}, []int{full.First, full.Second, full.Both, full.Of})
	// po 4/5, pe (2*3 + 3*2)/25.
	assert.InDelta(t, (.8-.48)/.52, full.Kappa.Value, 1e-12)
	assert.Equal(t, compare.Trusted, full.Trust(.6))
	assert.Equal(t, compare.Untrusted, full.Trust(.7))
	assert.Equal(t, compare.Unproven, terms[2].Trust(.6))
}

func TestAgreementIsSane(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(1, 6).Draw(t, "terms")
		c := compare.Table{}
		for range k {
			c.Terms = append(c.Terms, "x")
			c.Cells = append(c.Cells, rapid.SliceOfN(rapid.OneOf(rapid.Just(0), rapid.IntRange(0, 2000)), k, k).Draw(t, "row"))
		}
		for _, w := range []compare.Weights{compare.Same, compare.Linear, compare.Quadratic} {
			// Weighted coefficients have no lower bound.
			sane(t, c.Kappa(w), -math.MaxFloat64, 1)
			sane(t, c.AC(w), -math.MaxFloat64, 1)
		}
		for _, term := range c.ByTerm() {
			sane(t, term.Kappa, -1, 1)
			sane(t, term.AC, -1, 1)
		}
	})
}
