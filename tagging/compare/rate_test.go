package compare_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"netreel/tagging/compare"
)

func rate(hits, of int) compare.Rate { return compare.Rate{Hits: hits, Of: of} }

// R. G. Newcombe 1998, Statistics in Medicine 17:857-872, table I, method 3.
func TestWilsonAgainstNewcombe(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		r         compare.Rate
		low, high float64
	}{
		{rate(81, 263), .2553, .3662},
		{rate(15, 148), .0624, .1605},
		{rate(0, 20), 0, .1611},
		{rate(1, 29), .0061, .1718},
	} {
		e := c.r.Share()
		assert.InDelta(t, c.low, e.Low, .00005, "%v", c.r)
		assert.InDelta(t, c.high, e.High, .00005, "%v", c.r)
	}
}

// R. G. Newcombe 1998, Statistics in Medicine 17:873-890, table II, method 10.
func TestDifferenceAgainstNewcombe(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		a, b      compare.Rate
		low, high float64
	}{
		{rate(56, 70), rate(48, 80), .0524, .3339},
		{rate(9, 10), rate(3, 10), .1705, .8090},
		{rate(6, 7), rate(2, 7), .0582, .8062},
		{rate(5, 56), rate(0, 29), -.0381, .1926},
		{rate(0, 10), rate(0, 20), -.1611, .2775},
		{rate(0, 10), rate(0, 10), -.2775, .2775},
		{rate(10, 10), rate(0, 20), .6791, 1},
		{rate(10, 10), rate(0, 10), .6075, 1},
	} {
		e := compare.Difference(c.a, c.b)
		assert.InDelta(t, c.low, e.Low, .00005, "%v %v", c.a, c.b)
		assert.InDelta(t, c.high, e.High, .00005, "%v %v", c.a, c.b)
	}
}

// R. A. Fisher, The Design of Experiments, 1935, chapter 2: a lady tasting tea
// (17 and 1 of 70 on one side; the totals are even, so both sides double it).
// The two below are of the tables in Newcombe's table II, with the chances of
// fisher_exact in SciPy 1.10.1.
func TestFisher(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		a, b compare.Rate
		want float64
	}{
		{rate(3, 4), rate(1, 4), 34. / 70},
		{rate(4, 4), rate(0, 4), 2. / 70},
		{rate(56, 70), rate(48, 80), .012521129749209154},
		{rate(9, 10), rate(3, 10), .019766611097880443},
		{rate(0, 5), rate(0, 9), 1},
	} {
		assert.InDelta(t, c.want, compare.Fisher(c.a, c.b).Value, 1e-12, "%v %v", c.a, c.b)
	}
}

// S.-C. Chow, J. Shao & H. Wang, Sample Size Calculations in Clinical Research,
// section 4.2, whose formula gives 69.66, 247.24, 117.73 and 196.22 a side with
// the normal deviates of SciPy 1.10.1.
func TestBallsNeeded(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		a, b compare.Rate
		want float64
	}{
		{rate(65, 100), rate(85, 100), 70},
		{rate(25, 100), rate(15, 100), 248},
		{rate(30, 100), rate(15, 100), 118},
		{rate(20, 100), rate(10, 100), 197},
		{rate(0, 4), rate(4, 4), 2},
	} {
		assert.Equal(t, c.want, compare.BallsNeeded(c.a, c.b).Value, "%v %v", c.a, c.b)
	}
	assert.Equal(t, compare.SameRate, compare.BallsNeeded(rate(1, 4), rate(2, 8)).Gap)
}

// Woolf's interval by hand for 9 of 14 against 5 of 21, and Haldane's half.
func TestOddsRatio(t *testing.T) {
	t.Parallel()
	e := compare.OddsRatio(rate(9, 14), rate(5, 21))
	assert.InDelta(t, 9.*16/(5*5), e.Value, 1e-12)
	se := math.Sqrt(1./9 + 1./5 + 1./5 + 1./16)
	assert.InDelta(t, 5.76*math.Exp(-1.959963984540054*se), e.Low, 1e-9)
	assert.InDelta(t, 5.76*math.Exp(1.959963984540054*se), e.High, 1e-9)
	assert.InDelta(t, 4.5*5.5/(.5*1.5), compare.OddsRatio(rate(4, 4), rate(1, 6)).Value, 1e-9)
}

func TestRatesThatAreNone(t *testing.T) {
	t.Parallel()
	assert.Equal(t, compare.NoBalls, rate(0, 0).Share().Gap)
	assert.Equal(t, compare.BadCounts, rate(3, 2).Share().Gap)
	assert.Equal(t, compare.BadCounts, rate(-1, 2).Share().Gap)
	assert.Equal(t, compare.NoBalls, compare.Difference(rate(1, 2), rate(0, 0)).Gap)
	assert.Equal(t, compare.NoBalls, compare.Fisher(rate(0, 0), rate(1, 2)).Gap)
	assert.Equal(t, compare.NoBalls, compare.BallsNeeded(rate(0, 0), rate(1, 2)).Gap)
	assert.Equal(t, compare.AllOrNone, compare.OddsRatio(rate(0, 3), rate(0, 2)).Gap)
	for g := compare.NoBalls; g <= compare.ManyPoints; g++ {
		assert.NotEmpty(t, g.String(), fmt.Sprint(int(g)))
	}
}

func anyRate(t *rapid.T, name string) compare.Rate {
	of := rapid.OneOf(rapid.IntRange(0, 30), rapid.IntRange(0, 10_000)).Draw(t, name+" of")
	return rate(rapid.IntRange(0, of).Draw(t, name+" hits"), of)
}

// Whatever the counts: finite, ordered, within bounds, and the same seen from
// either side.
func TestRatesAreSane(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a, b := anyRate(t, "a"), anyRate(t, "b")
		sane(t, a.Share(), 0, 1)
		d, back := compare.Difference(a, b), compare.Difference(b, a)
		sane(t, d, -1, 1)
		assert.InDelta(t, d.Low, -back.High, 1e-12)
		sane(t, compare.OddsRatio(a, b), 0, math.MaxFloat64)
		p := compare.Fisher(a, b)
		assert.InDelta(t, p.Value, compare.Fisher(b, a).Value, 1e-6)
		assert.GreaterOrEqual(t, p.Value, 0.)
		assert.LessOrEqual(t, p.Value, 1.)
		assert.GreaterOrEqual(t, compare.BallsNeeded(a, b).Value, 0.)
	})
}

func sane(t assert.TestingT, e compare.Estimate, low, high float64) {
	for _, v := range []float64{e.Value, e.Low, e.High} {
		assert.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%+v", e)
	}
	if !e.Known() {
		assert.Zero(t, e.Value)
		return
	}
	assert.True(t, low <= e.Low && e.Low <= e.Value+1e-12 && e.Value <= e.High+1e-12 && e.High <= high, "%+v", e)
}
