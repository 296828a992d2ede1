package api_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestSideBySide lays two balls side by side whose front knees were read off
// the picture. The angles by hand, in pixels of 1280 x 720: between knee to hip
// (-25.6, -72) and knee to ankle (102.4, 72) it is 144.7 degrees, to ankle
// (-12.8, 72) it is 150.3.
func TestSideBySide(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	w.coach.post("/api/readings", strings.Replace(w.reading("accepted"), `"x":0.51`, `"x":0.6`, 1)).is(http.StatusOK)
	w.coach.post(fmt.Sprintf("/api/readings/%d/verdict", w.ids.reading), `{"status":"accepted"}`).is(http.StatusOK)
	path := fmt.Sprintf("/api/side-by-side?left=%d&right=%d", w.ids.ball, w.ids.otherBall)
	type item struct {
		Ball   struct{ ID int64 }
		Player string
	}
	var got struct {
		Left, Right item
		Measures    []struct{ Measure, Name, Left, Right, More string }
	}
	w.coach.get(path).is(http.StatusOK).into(&got)
	assert.Equal(t, item{Player: "Asha", Ball: struct{ ID int64 }{w.ids.ball}}, got.Left)
	assert.Equal(t, item{Player: "Bela", Ball: struct{ ID int64 }{w.ids.otherBall}}, got.Right)
	require.Len(t, got.Measures, 1)
	knee := got.Measures[0]
	assert.Equal(t, "Front knee", knee.Name)
	assert.True(t, strings.HasPrefix(knee.Left, "145 ± "), knee.Left)
	assert.True(t, strings.HasPrefix(knee.Right, "150 ± "), knee.Right)
	assert.True(t, strings.HasPrefix(knee.More, "+6 ± "), knee.More)

	assert.Equal(t, http.StatusNotFound, w.player.get(path).status, "a player's own balls alone")
	w.player.get(fmt.Sprintf("/api/side-by-side?left=%d&right=%d", w.ids.ball, w.ids.ball)).is(http.StatusOK)
	for _, query := range []string{"", "?left=1", "?left=1&right=x", "?left=0&right=1"} {
		assert.Equal(t, http.StatusBadRequest, w.coach.get("/api/side-by-side"+query).status, query)
	}
}
