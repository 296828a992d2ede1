package lookback_test

import (
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/tagging/compare"
	"netreel/tagging/lookback"
	"netreel/tagging/measure"
	"netreel/tagging/vocabulary"
)

func wide(id int64, base string, cm float64) lookback.Ball {
	b := ball(id, "base", base, "feed", "machine")
	b.Measured = map[string]float64{"base-width": cm}
	return b
}

func TestMeasures(t *testing.T) {
	t.Parallel()
	balls := []lookback.Ball{wide(1, "narrow", 50), wide(2, "narrow", 54), wide(3, "narrow", 58), ball(4, "base", "narrow")}
	got := look(balls...).Overall.Measures
	require.Len(t, got, 1)
	assert.Equal(t, "base-width", got[0].Measure.Key)
	assert.Equal(t, 3, got[0].Balls.N)
	assert.Equal(t, "measured.base-width=..&session=3", got[0].Balls.Question)
	assert.Len(t, opens(t, got[0].Balls.Question, balls), 3)
	// Mean 54, standard deviation 4; Student's t of 2 degrees of freedom at 0.975 by SciPy 1.10.1.
	assert.InDelta(t, 54, got[0].Mean.Value, 1e-9)
	assert.InDelta(t, 4.302652729911275*4/math.Sqrt(3), got[0].Mean.High-got[0].Mean.Value, 1e-9)

	one := look(wide(1, "narrow", 50)).Overall.Measures
	assert.Equal(t, compare.OneBall, one[0].Mean.Gap, "one ball has no interval")
	assert.Empty(t, look(ball(1, "base", "narrow")).Overall.Measures)
}

func TestMeasuresCompared(t *testing.T) {
	t.Parallel()
	var balls []lookback.Ball
	for i := range 12 {
		base, cm := "narrow", 40.0
		if i >= 6 {
			base, cm = "sound", 60
		}
		balls = append(balls, wide(int64(i+1), base, cm+float64(i%3)))
	}
	c := lookback.Compare(vocabulary.Default(), set(t, "base=narrow", balls), set(t, "base=sound", balls), lookback.Outcomes(nil), "narrow", "sound")
	require.Len(t, c.Measures, 1)
	m := c.Measures[0]
	assert.InDelta(t, -20, m.Figures.Difference.Value, 1e-9)
	assert.Equal(t, compare.NotChance, m.Verdict.Finding)
	assert.Contains(t, m.Verdict.Text, "41 cm (6 balls) narrow, 61 cm (6 balls) sound")
	var all []lookback.Cell
	cells(reflect.ValueOf(c.Measures), &all)
	require.NotEmpty(t, all)
	for _, cell := range all {
		assert.Len(t, opens(t, cell.Question, balls), cell.N, cell.Question)
	}
}

func TestProgressOfAMeasure(t *testing.T) {
	t.Parallel()
	m, ok := measure.Find("base-width")
	require.True(t, ok)
	var visits []lookback.Visit
	for n := range int64(6) {
		b := wide(n+1, "narrow", 40+2*float64(n))
		b.SessionID = n + 1
		visits = append(visits, lookback.Visit{Session: n + 1, Title: "Nets", Balls: []lookback.Ball{b}})
	}
	p := lookback.FollowMeasure(vocabulary.Default(), 5, visits, m)
	assert.Contains(t, p.Words, "Rising, by about 2 cm from session to session", "one ball a session still makes a series")
	assert.Equal(t, 1, p.Visits[3].Measured.Balls.N)
	assert.Contains(t, lookback.FollowMeasure(vocabulary.Default(), 5, nil, m).Words, "Nothing to follow yet")
}
