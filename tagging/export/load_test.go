package export_test

import (
	"encoding/csv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/tagging/export"
	"netreel/tagging/plan"
	"netreel/tagging/vocabulary"
)

func TestLoadTable(t *testing.T) {
	t.Parallel()
	var b strings.Builder
	require.NoError(t, export.LoadCSV(&b, []plan.Stint{
		{Day: "2026-02-01", Doing: plan.Feeding, Person: "=Ada", Feed: "side-arm", Bowling: "fast", SpeedKPH: 104.5, SpeedBy: plan.SpeedMeasured, Slowest: 98, Fastest: 111.2, Balls: 24, Counted: "card"},
		{Day: "2026-02-01", Doing: plan.Facing, Person: "Cleo", Balls: 24, Counted: "balls"},
	}, vocabulary.Default()))
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(b.String(), "\uFEFF"))).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, [][]string{
		{"Date", "Person", "Doing", "How fed", "Bowling", "Speed km/h", "Speed from", "Slowest km/h", "Fastest km/h", "Balls", "Counted from"},
		{"2026-02-01", "'=Ada", "feeding", "Side-arm", "Fast", "104.5", "measured", "98", "111.2", "24", "card"},
		{"2026-02-01", "Cleo", "facing", "", "", "", "", "", "", "24", "balls"},
	}, rows)
}
