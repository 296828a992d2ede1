package plan_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/media/fault"
	"netreel/tagging/compare"
	"netreel/tagging/plan"
)

// rates makes cells of how many balls went badly, of how many.
func rates(badOf ...int) []compare.Rate {
	var out []compare.Rate
	for i := 0; i < len(badOf); i += 2 {
		out = append(out, compare.Rate{Hits: badOf[i], Of: badOf[i+1]})
	}
	return out
}

func TestSuggestedWeights(t *testing.T) {
	t.Parallel()
	even := plan.Suggest(rates(3, 3, 12, 40, 12, 40))
	for _, w := range even {
		assert.False(t, w.Tells)
		assert.InDelta(t, 1.0/3, w.Share, 1e-9, "three balls of three tell nothing")
	}
	for _, w := range plan.Suggest(rates(0, 0, 0, 0)) {
		assert.InDelta(t, 0.5, w.Share, 1e-9, "nothing is known")
		assert.InDelta(t, 1, w.High, 1e-9)
	}
	weak := plan.Suggest(rates(28, 40, 8, 40, 3, 6))
	assert.True(t, weak[0].Tells)
	assert.False(t, weak[2].Tells)
	assert.Greater(t, weak[0].Share, weak[2].Share)
	assert.Greater(t, weak[2].Share, weak[1].Share)
	assert.Less(t, weak[0].Drawn, weak[0].Rate, "drawn towards the rest")
	rapid.Check(t, func(t *rapid.T) {
		var cells []compare.Rate
		for range rapid.IntRange(1, plan.MaxTypes).Draw(t, "types") {
			n := rapid.IntRange(0, 200).Draw(t, "balls")
			cells = append(cells, compare.Rate{Hits: rapid.IntRange(0, n).Draw(t, "bad"), Of: n})
		}
		total := 0.0
		for _, w := range plan.Suggest(cells) {
			total += w.Share
			require.Greater(t, w.Share, 0.0, "no type is dropped")
			require.LessOrEqual(t, w.Low, w.Rate+1e-9)
			require.GreaterOrEqual(t, w.High+1e-9, w.Rate)
		}
		require.InDelta(t, 1, total, 1e-9)
	})
}

func practice() plan.Plan {
	return plan.Plan{
		Title: "Short ball, then full", Minutes: 10,
		Blocks: []plan.Block{{
			Name: "Warm-up", Feed: "throw-down", Pace: 15, Pause: 60, Order: plan.Random, Alike: 2,
			Types: []plan.Type{{Name: "Good", Length: "good", Balls: 6}, {Name: "Full", Length: "full", Balls: 6}},
		}, {
			Name: "Mixed", Feed: "side-arm", Pace: 20, Pause: 60, Order: plan.Random, Alike: 2,
			Types: []plan.Type{{Name: "Good", Length: "good", Balls: 6}, {Name: "At the throat", Length: "short", Height: "throat", Balls: 3}},
		}},
	}
}

func TestBudgetAndWarnings(t *testing.T) {
	t.Parallel()
	p := practice()
	require.NoError(t, p.Check())
	assert.Equal(t, plan.Budget{Balls: 21, Seconds: 420, Room: 180}, p.Budget())
	assert.Equal(t, []string{"Mixed: At the throat"}, p.UpperBody())
	assert.Len(t, p.Warnings(), 1, "a coach has to tick helmets")
	p.Helmets = true
	assert.Empty(t, p.Warnings())

	p.Minutes = 5
	require.NoError(t, p.Check(), "it may be kept")
	require.Len(t, p.Warnings(), 1)
	assert.Contains(t, p.Warnings()[0], "take 7:00 and the session has 5:00")
	assert.Contains(t, p.Warnings()[0], "Take out 6 balls of Mixed")

	p.Blocks[1].Types[0].Balls, p.Blocks[1].Types[1].Balls = 0, 0
	assert.Contains(t, p.Warnings()[0], "Block 2 (Mixed) has no balls")
	assert.Empty(t, p.UpperBody(), "none is aimed there")
	assert.Contains(t, plan.Plan{Minutes: 30}.Warnings()[0], "no block yet")
}

func TestCheckNamesThePlace(t *testing.T) {
	t.Parallel()
	p := practice()
	p.Minutes = 0
	p.Blocks[0].Pace = 0
	p.Blocks[1].Order = "odd"
	p.Blocks[1].Types[1].Name = " "
	p.Blocks[1].Types[0].Balls = 61
	err := p.Check()
	require.Equal(t, fault.Invalid, fault.KindOf(err))
	var f *fault.Error
	require.ErrorAs(t, err, &f)
	var names []string
	for _, field := range f.Fields {
		names = append(names, field.Name)
	}
	assert.ElementsMatch(t, []string{"minutes", "blocks.0.pace_s", "blocks.1.order", "blocks.1.types.0.balls", "blocks.1.types.1.name", "blocks.1.types"}, names)
}

func TestLoad(t *testing.T) {
	t.Parallel()
	stint := func(day string, doing plan.Doing, who, feed string, balls int) plan.Stint {
		return plan.Stint{Day: day, Doing: doing, Person: who, Feed: feed, Balls: balls}
	}
	stints := []plan.Stint{
		stint("2026-02-26", plan.Feeding, "Ada", "throw-down", 40), stint("2026-03-01", plan.Feeding, "Ada", "throw-down", 25),
		stint("2026-03-04", plan.Feeding, "Ada", "throw-down", 20), stint("2026-03-05", plan.Feeding, "Ada", "side-arm", 90),
		stint("2026-03-04", plan.Facing, "Cleo", "throw-down", 20),
	}
	assert.Equal(t, []plan.Sum{
		{"2026-03-03", 0, 65}, {"2026-03-04", 20, 85}, {"2026-03-05", 90, 135},
	}, plan.Daily([]plan.Stint{stints[0], stints[1], stints[2], stints[3]}, "2026-03-03", "2026-03-05"))
	assert.Empty(t, plan.Daily(stints, "2026-03-05", "2026-03-04"))
	assert.Empty(t, plan.Daily(stints, "soon", "later"))
	assert.Empty(t, plan.Crossings(stints, nil), "nothing is a limit until the coach sets one")

	week := plan.Limit{ID: 1, Doing: plan.Feeding, Feed: "throw-down", Days: 7, Balls: 75}
	day := plan.Limit{ID: 2, Doing: plan.Facing, Person: "Cleo", Days: 1, Balls: 20}
	require.NoError(t, week.Check())
	assert.Equal(t, []plan.Crossing{{Limit: week, Person: "Ada", Day: "2026-03-04", Balls: 85}}, plan.Crossings(stints, []plan.Limit{week, day}),
		"as many as the limit is within it")
	assert.Equal(t, fault.Invalid, fault.KindOf(plan.Limit{Doing: "resting", Days: 40}.Check()))
}

func TestLatestDays(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct{ name, latest, from, to string }{
		{"never a ball", "", "2026-02-02", "2026-03-01"},
		{"last week", "2026-02-22", "2026-02-02", "2026-03-01"},
		{"on the first of the days", "2026-02-02", "2026-02-02", "2026-03-01"},
		{"a day too long ago", "2026-02-01", "2026-01-05", "2026-02-01"},
		{"tomorrow", "2026-03-02", "2026-02-03", "2026-03-02"},
	} {
		from, to := plan.LatestDays(tc.latest, "2026-03-01")
		assert.Equal(t, [2]string{tc.from, tc.to}, [2]string{from, to}, tc.name)
	}
}
