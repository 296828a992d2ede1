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

// J. Cohen 1968, Psychological Bulletin 70:213-220, table 1 (cells, and kappa
// .492 and weighted kappa .348, from memory; they agree to all places given).
// Standard errors of Fleiss, Cohen & Everitt follow from their formula.
func TestKappaAgainstCohen(t *testing.T) {
	t.Parallel()
	c := table([]int{88, 14, 18}, []int{10, 40, 10}, []int{2, 6, 12})
	assert.InDelta(t, .70, c.Alike().Share().Value, 1e-12)
	assert.InDelta(t, .491525, c.Kappa(compare.Same).Value, 5e-7)
	assert.InDelta(t, .051002, se(c.Kappa(compare.Same)), 5e-7)
	disagreement := [][]float64{{0, 1, 3}, {1, 0, 6}, {3, 6, 0}}
	assert.InDelta(t, .347826, c.Kappa(func(i, j, _ int) float64 { return 1 - disagreement[i][j]/6 }).Value, 5e-7)
	assert.InDelta(t, .473684, c.Kappa(compare.Linear).Value, 5e-7)
	assert.InDelta(t, .454545, c.Kappa(compare.Quadratic).Value, 5e-7)
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
// 0.7964094 with standard error 0.0589107. AC1 there is 0.8493305.
func TestAgreementAgainstGwet(t *testing.T) {
	t.Parallel()
	c := table([]int{13, 0, 0}, []int{0, 20, 7}, []int{0, 4, 56})
	assert.InDelta(t, .7964094, c.Kappa(compare.Same).Value, 5e-8)
	assert.InDelta(t, .0589107, se(c.Kappa(compare.Same)), 5e-8)
	assert.InDelta(t, .8493305, c.AC(compare.Same).Value, 5e-8)
}

// The R package Delta documents 0.5 with 0.09682458 for the first table; the
// pair after it is the classic one of equal agreement and unlike kappa (from
// memory); the last is the paradox of K. L. Gwet 2002 (from memory), where
// kappa is below 0 though 94 per cent agree.
func TestKappaOfTwo(t *testing.T) {
	t.Parallel()
	k := table([]int{50, 10}, []int{10, 20}).Kappa(compare.Same)
	assert.InDelta(t, .5, k.Value, 1e-12)
	assert.InDelta(t, .09682458, se(k), 5e-9)
	assert.InDelta(t, .130435, table([]int{45, 15}, []int{25, 15}).Kappa(compare.Same).Value, 5e-7)
	assert.InDelta(t, .259259, table([]int{25, 35}, []int{5, 35}).Kappa(compare.Same).Value, 5e-7)
	paradox := table([]int{118, 5}, []int{2, 0})
	assert.InDelta(t, -.023392, paradox.Kappa(compare.Same).Value, 5e-7)
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
