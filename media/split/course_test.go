package split

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestCourseAlwaysMovesAndNeverFalls(t *testing.T) {
	var told []float64
	c := &course{tell: func(share float64) { told = append(told, share) }}
	c.step(surveyShare)(1)
	for range 20 { // however often a session is looked at
		before := told[len(told)-1]
		step := c.step(gazeShare)
		step(0.5)
		step(0.2) // told out of order
		step(1)
		require.Greater(t, told[len(told)-1], before)
	}
	require.Less(t, told[len(told)-1], 1.0, "it is not over before its end")
	c.end()
	require.Equal(t, 1.0, told[len(told)-1])
	require.True(t, slices.IsSorted(told))

	(&course{}).step(gazeShare)(1) // nobody listens
}
