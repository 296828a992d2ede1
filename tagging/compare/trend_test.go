package compare_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"netreel/tagging/compare"
)

// J. Little, College of the Holy Cross, "A Mann-Kendall example by hand":
// fourteen values with one tie, S = 54, Z about 2.9058, one-sided .0018.
func TestMannKendallByHand(t *testing.T) {
	t.Parallel()
	k := compare.MannKendall([]float64{12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9, 11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7})
	assert.Equal(t, 54, k.S)
	assert.InDelta(t, 2.9058, k.Z.Value, .0001)
	assert.InDelta(t, .0018, k.Chance.Value/2, .00005)
	assert.True(t, k.Slope.Low > 0 && k.Slope.Low < k.Slope.Value && k.Slope.Value < k.Slope.High)
}

// Exact one-sided chances, as in M. G. Kendall's table: those of kendalltau in
// SciPy 1.10.1, method "exact".
func TestMannKendallExact(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		y    []float64
		s    int
		want float64
	}{
		{[]float64{1, 3, 2, 5, 4}, 6, .11666666666666667},
		{[]float64{2, 1, 3, 4, 5}, 8, .041666666666666664},
		{[]float64{5, 4, 3, 2, 1}, -10, .008333333333333333},
		{[]float64{3, 1, 2, 4, 5, 8, 6, 7}, 20, .007068452380952381},
		{[]float64{3, 2, 1, 4, 5, 8, 7, 6}, 16, .03050595238095238},
		{[]float64{1, 3, 2, 4, 5, 7, 6, 8}, 24, .0008680555555555555},
	} {
		k := compare.MannKendall(c.y)
		assert.Equal(t, c.s, k.S)
		assert.InDelta(t, c.want, k.Chance.Value/2, 1e-15, "%v", c.y)
	}
}

// The cloud-seeding series of M. Hollander & D. A. Wolfe, Nonparametric
// Statistical Methods, chapter 9. S, its exact chance and the slope are those of
// kendalltau and theilslopes in SciPy 1.10.1.
func TestSenSlope(t *testing.T) {
	t.Parallel()
	k := compare.MannKendall([]float64{1.26, 1.27, 1.12, 1.16, 1.03})
	assert.Equal(t, -6, k.S)
	assert.InDelta(t, .23333333333333334, k.Chance.Value, 1e-14)
	assert.InDelta(t, -.05625, k.Slope.Value, 1e-14)
	straight := compare.MannKendall([]float64{1, 3, 5, 7, 9, 11})
	assert.InDelta(t, 2, straight.Slope.Value, 1e-12)
	assert.InDelta(t, 2, straight.Slope.Low, 1e-12)
}

// A. N. Pettitt 1979, Applied Statistics 28:126-135, table 1 (data of E. S.
// Page 1955): a shift after the 17th of 40 values, p = 0.014.
func TestPettitt(t *testing.T) {
	t.Parallel()
	c := compare.Pettitt([]float64{
		-1.05, .96, 1.22, .58, -.98, -.03, -1.54, -.71, -.35, .66,
		.44, .91, -.02, -1.42, 1.26, -1.02, -.81, 1.66, 1.05, .97,
		2.14, 1.22, -.24, 1.60, .72, -.12, .44, .03, .66, .56,
		1.37, 1.66, .10, .80, 1.29, .49, -.07, 1.18, 3.29, 1.84,
	})
	assert.Equal(t, 17, c.After)
	assert.Equal(t, 232., c.K)
	assert.InDelta(t, .014, c.Chance.Value, .001)
	assert.Less(t, c.Before, c.Since)
}

func TestSeriesThatAreNone(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		y   []float64
		gap compare.Gap
	}{
		"no session":   {nil, compare.FewPoints},
		"one session":  {[]float64{1}, compare.FewPoints},
		"four":         {[]float64{1, 2, 3, 4}, compare.FewPoints},
		"all alike":    {[]float64{1, 1, 1, 1, 1}, compare.AllAlike},
		"not a number": {[]float64{1, 2, math.NaN(), 4, 5}, compare.BadNumbers},
		"infinite":     {[]float64{1, 2, math.Inf(1), 4, 5}, compare.BadNumbers},
	} {
		assert.Equal(t, c.gap, compare.MannKendall(c.y).Chance.Gap, name)
		assert.Equal(t, c.gap, compare.Pettitt(c.y).Chance.Gap, name)
	}
	many := make([]float64, 10_000)
	for i := range many {
		many[i] = float64(i % 7)
	}
	assert.Equal(t, compare.ManyPoints, compare.MannKendall(many).Chance.Gap)
	assert.True(t, compare.Pettitt(many).Chance.Known())
}

func TestTrendIsSane(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		y := rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(-1e9, 1e9), rapid.Map(rapid.IntRange(0, 3), func(i int) float64 { return float64(i) })), 0, 60).Draw(t, "y")
		k := compare.MannKendall(y)
		sane(t, k.Slope, -math.MaxFloat64, math.MaxFloat64)
		chance(t, k.Chance)
		c := compare.Pettitt(y)
		chance(t, c.Chance)
		if c.Chance.Known() {
			assert.Equal(t, naivePettitt(y), c.K)
		}
		// A series read backwards falls as much as it rose.
		back := make([]float64, len(y))
		for i, v := range y {
			back[len(y)-1-i] = v
		}
		assert.Equal(t, k.S, -compare.MannKendall(back).S)
	})
}

// naivePettitt counts the signs of every pair, as the test is defined.
func naivePettitt(y []float64) float64 {
	most := 0.0
	for t := 1; t < len(y); t++ {
		u := 0.0
		for _, a := range y[:t] {
			for _, b := range y[t:] {
				switch {
				case a > b:
					u++
				case a < b:
					u--
				}
			}
		}
		most = math.Max(most, math.Abs(u))
	}
	return most
}

func chance(t assert.TestingT, f compare.Figure) {
	assert.True(t, f.Value >= 0 && f.Value <= 1, "%+v", f)
}

// NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.3.2: defectives
// on thirty wafers of fifty chips each, mean .2313 with limits .0524 and .4102.
// Counts and limits are from memory: the mean agrees with what is printed, and
// the further places follow from the formula there, three standard errors of
// the mean's binomial share.
func TestPChartAgainstNIST(t *testing.T) {
	t.Parallel()
	var rates []compare.Rate
	for _, defects := range []int{
		12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22,
		8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6,
	} {
		rates = append(rates, rate(defects, 50))
	}
	c := compare.PChart(rates)
	assert.InDelta(t, 347./1500, c.Centre.Value, 1e-14)
	var outside []int
	for i, p := range c.Points {
		assert.InDelta(t, .05242754807192823, p.Low, 1e-14)
		assert.InDelta(t, .41023911859473844, p.High, 1e-14)
		if p.Outside {
			outside = append(outside, i+1)
		}
	}
	assert.Equal(t, []int{15, 23}, outside)
}

func TestPChartOfLittle(t *testing.T) {
	t.Parallel()
	assert.Equal(t, compare.NoBalls, compare.PChart(nil).Centre.Gap)
	c := compare.PChart([]compare.Rate{rate(0, 0), rate(1, 1), rate(4, 3)})
	assert.Equal(t, 1., c.Centre.Value)
	assert.Equal(t, compare.NoBalls, c.Points[0].Gap)
	assert.False(t, c.Points[1].Outside)
	assert.Equal(t, compare.BadCounts, c.Points[2].Gap)
}

func TestForm(t *testing.T) {
	t.Parallel()
	held := []bool{true, true, true, true, false, false, false, false}
	points := compare.Form(held, 4)
	assert.Len(t, points, 5)
	assert.Equal(t, compare.Rate{Hits: 4, Of: 4}, points[0].Rate)
	assert.Equal(t, 4, points[0].Ball)
	assert.Equal(t, compare.Rate{Hits: 2, Of: 4}, points[2].Rate)
	assert.True(t, points[0].Outside && points[4].Outside && !points[2].Outside)
	assert.InDelta(t, .5-z*.25, points[0].Low, 1e-12)
	assert.Empty(t, compare.Form(held, 9))
	assert.Empty(t, compare.Form(held, 0))
	assert.Empty(t, compare.Form(nil, 3))
	for _, p := range compare.Form(make([]bool, 10_000), 12) {
		assert.False(t, p.Outside)
	}
}

func TestBestStreak(t *testing.T) {
	t.Parallel()
	best, now := compare.BestStreak([]bool{true, false, true, true, false, true, true})
	assert.Equal(t, compare.Streak{First: 3, Length: 2}, best)
	assert.Equal(t, compare.Streak{First: 6, Length: 2}, now)
	best, now = compare.BestStreak([]bool{true, false})
	assert.Equal(t, compare.Streak{First: 1, Length: 1}, best)
	assert.Zero(t, now)
	best, _ = compare.BestStreak(nil)
	assert.Zero(t, best)
}
