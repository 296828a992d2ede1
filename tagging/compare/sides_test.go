package compare_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"netreel/tagging/compare"
)

// S. Holm 1979, Scandinavian Journal of Statistics 6:65-70, on the example that
// public test suites of statistics libraries share: .01 .04 .03 .005 give .03
// .06 .06 .02.
func TestHolm(t *testing.T) {
	t.Parallel()
	figures := func(v ...float64) []compare.Figure {
		var out []compare.Figure
		for _, x := range v {
			out = append(out, compare.Figure{Value: x})
		}
		return out
	}
	for i, f := range compare.Holm(figures(.01, .04, .03, .005)) {
		assert.InDelta(t, []float64{.03, .06, .06, .02}[i], f.Value, 1e-12)
	}
	with := compare.Holm(append(figures(.01, .9), compare.Figure{Gap: compare.NoBalls}))
	assert.InDelta(t, .02, with[0].Value, 1e-12)
	assert.InDelta(t, .9, with[1].Value, 1e-12)
	assert.Equal(t, compare.NoBalls, with[2].Gap)
	assert.Empty(t, compare.Holm(nil))
}

func parts(feed string, rates ...compare.Rate) []compare.Part {
	var out []compare.Part
	for i, r := range rates {
		out = append(out, compare.Part{Session: int64(i + 1), Feed: feed, Rate: r})
	}
	return out
}

var bases = compare.Words{Held: "went badly", A: "with a narrow base", B: "with a sound one"}

func TestVerdicts(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		a, b    []compare.Part
		finding compare.Finding
		text    string
	}{
		"unlikely to be chance": {
			parts("Bowler", rate(9, 14)), parts("Bowler", rate(5, 21)), compare.NotChance,
			"Went badly 9 of 14 with a narrow base, 5 of 21 with a sound one; unlikely to be chance.",
		},
		"may be chance": {
			parts("Bowler", rate(15, 60)), parts("Bowler", rate(9, 60)), compare.MayChance,
			"Went badly 15 of 60 with a narrow base, 9 of 60 with a sound one; may be chance: it would take about 248 balls on each side to tell.",
		},
		"few balls": {
			parts("", rate(3, 3)), parts("", rate(0, 9)), compare.TooFew,
			"Went badly 3 of 3 with a narrow base, 0 of 9 with a sound one; too few to tell.",
		},
		"no balls": {
			nil, nil, compare.TooFew,
			"Went badly 0 of 0 with a narrow base, 0 of 0 with a sound one; too few to tell.",
		},
		"too few happened to tell": {
			parts("", rate(1, 9)), parts("", rate(0, 9)), compare.TooFew,
			"Went badly 1 of 9 with a narrow base, 0 of 9 with a sound one; too few to tell.",
		},
		"much the same": {
			parts("", rate(400, 1000)), parts("", rate(402, 1000)), compare.Alike,
			"Went badly 400 of 1000 with a narrow base, 402 of 1000 with a sound one; much the same.",
		},
		"sessions as unlike as sides": {
			parts("", rate(10, 10), rate(10, 10), rate(10, 10), rate(0, 10), rate(0, 10), rate(5, 10)),
			parts("", rate(0, 10), rate(1, 10), rate(1, 10), rate(2, 10), rate(10, 10), rate(0, 10)), compare.MayChance,
			"Went badly 35 of 60 with a narrow base, 14 of 60 with a sound one; but sessions differ among themselves as much, so it may be chance.",
		},
		"fed in two ways": {
			append(parts("Bowler", rate(9, 14)), parts("Machine", rate(1, 2))...), parts("Bowler", rate(5, 21)), compare.NotChance,
			"Went badly 10 of 16 with a narrow base, 5 of 21 with a sound one; unlikely to be chance. " +
				"Balls that were fed in different ways are counted together here (Bowler 35, Machine 2): compare like with like.",
		},
	} {
		v := compare.Rates(c.a, c.b, 1).Verdict(bases)
		assert.Equal(t, compare.Verdict{Finding: c.finding, Text: c.text}, v, name)
	}
}

func TestVerdictAmongSeveral(t *testing.T) {
	t.Parallel()
	several := []compare.RateComparison{
		compare.Rates(parts("", rate(20, 24)), parts("", rate(5, 24)), 1),
		compare.Rates(parts("", rate(9, 14)), parts("", rate(5, 21)), 1),
		compare.Rates(parts("", rate(8, 20)), parts("", rate(8, 21)), 1),
		compare.Rates(nil, parts("", rate(8, 21)), 1),
	}
	compare.Adjust(several)
	assert.Contains(t, several[0].Verdict(bases).Text, "unlikely to be chance even among 3 comparisons.")
	assert.Contains(t, several[1].Verdict(bases).Text, "may be chance:")
	assert.Equal(t, compare.TooFew, several[3].Verdict(bases).Finding)
}

func TestBootstrapOverSessions(t *testing.T) {
	t.Parallel()
	before := []compare.Rate{rate(8, 20), rate(9, 21), rate(12, 30), rate(7, 19), rate(10, 24), rate(9, 22)}
	after := []compare.Rate{rate(3, 20), rate(4, 25), rate(6, 30), rate(2, 18), rate(5, 25), rate(4, 21)}
	later := parts("", after...)
	for i := range later {
		later[i].Session += 100
	}
	c := compare.Rates(parts("", before...), later, 7)
	assert.False(t, c.Sessions.Rough)
	assert.Equal(t, []int{6, 6}, []int{c.Sessions.A, c.Sessions.B})
	assert.InDelta(t, c.Difference.Value, c.Sessions.Difference.Value, 1e-12)
	assert.Positive(t, c.Sessions.Difference.Low)
	assert.Equal(t, c, compare.Rates(parts("", before...), later, 7), "the same seed")

	few := compare.Rates(parts("", before[:2]...), parts("", after[:2]...), 7)
	assert.True(t, few.Sessions.Rough)
	assert.True(t, few.Sessions.Difference.Known())
	single := compare.Rates(parts("", before[0]), parts("", after[0]), 7)
	assert.Equal(t, compare.FewSessions, single.Sessions.Difference.Gap)
	assert.Equal(t, compare.NoBalls, compare.Rates(nil, parts("", after[0]), 7).Sessions.Difference.Gap)

	// Balls of a session that are all alike widen the interval beyond that of
	// independent balls.
	wide := compare.Rates(
		parts("", rate(20, 20), rate(0, 20), rate(20, 20), rate(0, 20), rate(20, 20)),
		parts("", rate(0, 20), rate(20, 20), rate(0, 20), rate(20, 20), rate(0, 20)), 7)
	assert.Less(t, wide.Sessions.Difference.Low, wide.Difference.Low)
}

func readings(session int64, v ...float64) []compare.Reading {
	var out []compare.Reading
	for _, x := range v {
		out = append(out, compare.Reading{Session: session, Value: x})
	}
	return out
}

func TestMeans(t *testing.T) {
	t.Parallel()
	narrow, sound := readings(1, 41, 43.5, 42, 40.5, 44, 42.5), readings(2, 52, 55, 51.5, 54, 53, 56.5, 52.5)
	c := compare.Means(narrow, sound, 3)
	w := compare.MeanWords{Measure: "base width", Unit: "cm", A: "with a narrow bat", B: "with a full one", Digits: 1}
	assert.Equal(t, compare.Verdict{
		Finding: compare.NotChance,
		Text:    "Base width 42.3 cm (6 balls) with a narrow bat, 53.5 cm (7 balls) with a full one; unlikely to be chance.",
	}, c.Verdict(w))
	assert.Equal(t, compare.FewSessions, c.Sessions.Difference.Gap)
	for name, c := range map[string]struct {
		a, b []compare.Reading
		text string
	}{
		"none":          {nil, sound, "Base width no balls with a narrow bat, 53.5 cm (7 balls) with a full one; too few to tell."},
		"one":           {readings(1, 40), sound, "Base width one ball only with a narrow bat, 53.5 cm (7 balls) with a full one; too few to tell."},
		"all alike":     {readings(1, 2, 2, 2, 2, 2), readings(1, 2, 2, 2, 2, 2), "Base width 2.0 cm (5 balls) with a narrow bat, 2.0 cm (5 balls) with a full one; all alike."},
		"not numbers":   {readings(1, math.NaN(), 2, 2, 2, 2), sound, "Base width a reading is not a number with a narrow bat, 53.5 cm (7 balls) with a full one; a reading is not a number."},
		"may be chance": {readings(1, 50, 55, 52, 54, 53), sound, "Base width 52.8 cm (5 balls) with a narrow bat, 53.5 cm (7 balls) with a full one; may be chance."},
	} {
		assert.Equal(t, c.text, compare.Means(c.a, c.b, 1).Verdict(w).Text, name)
	}
	mixed := compare.Means(append(narrow, compare.Reading{Session: 3, Feed: "Machine", Value: 44}), sound, 3)
	assert.Contains(t, mixed.Warning(), "(not said 13, Machine 1)")
	pair := []compare.MeanComparison{c, mixed}
	compare.Adjust(pair)
	assert.Equal(t, 2, pair[0].Among)
	assert.InDelta(t, 2*min(c.Chance.Value, mixed.Chance.Value), min(pair[0].Adjusted.Value, pair[1].Adjusted.Value), 1e-12)
}

// Whatever is measured and counted: no panic, nothing that is not a number.
func TestComparisonsAreSane(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		side := func(name string) (counts []compare.Part, measured []compare.Reading) {
			for range rapid.IntRange(0, 6).Draw(t, name) {
				p := compare.Part{Session: rapid.Int64Range(1, 4).Draw(t, "session"), Rate: anyRate(t, name)}
				counts = append(counts, p)
				measured = append(measured, compare.Reading{Session: p.Session, Value: rapid.Float64().Draw(t, "value")})
			}
			return counts, measured
		}
		ca, ma := side("a")
		cb, mb := side("b")
		c := compare.Rates(ca, cb, 1)
		sane(t, c.Sessions.Difference, -1, 1)
		assert.NotContains(t, c.Verdict(bases).Text, "NaN")
		m := compare.Means(ma, mb, 1)
		for _, e := range []compare.Estimate{m.MeanA, m.MeanB, m.Difference, m.Sessions.Difference} {
			sane(t, e, -math.MaxFloat64, math.MaxFloat64)
		}
		chance(t, m.Chance)
		assert.NotContains(t, m.Verdict(compare.MeanWords{}).Text, "NaN")
	})
}

func TestDraw(t *testing.T) {
	t.Parallel()
	var items []compare.Item
	for i := range 100 {
		stratum := "good"
		if i%10 == 0 {
			stratum = "short"
		}
		if i == 99 {
			stratum = ""
		}
		items = append(items, compare.Item{ID: int64(i + 1), Stratum: stratum})
	}
	drawn := compare.Draw(items, 20, 5)
	shuffled := slices.Clone(items)
	slices.Reverse(shuffled)
	assert.Equal(t, drawn, compare.Draw(shuffled, 20, 5))
	assert.NotEqual(t, drawn, compare.Draw(items, 20, 6))
	of := map[string]int{}
	for _, id := range drawn {
		of[items[id-1].Stratum]++
	}
	assert.Equal(t, map[string]int{"good": 17, "short": 2, "": 1}, of)
	assert.Len(t, compare.Draw(items, 1000, 5), 100)
	assert.Empty(t, compare.Draw(items, 0, 5))
	assert.Empty(t, compare.Draw(nil, 5, 5))
	assert.Len(t, compare.Draw(items, 2, 5), 2)
	assert.False(t, slices.IsSorted(drawn), "the order gives nothing away")
}
