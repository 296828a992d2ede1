package api_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
)

// TestLookbackOfOneCodedBall takes the smallest session there is: figures are
// said to be missing, never made up.
func TestLookbackOfOneCodedBall(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	got := w.coach.get(fmt.Sprintf("/api/sessions/%d/lookback", w.ids.session))
	assert.Equal(t, 200, got.status)
	body := string(got.body)
	assert.Contains(t, body, `"name":"Meera","balls":1`, "who coded")
	assert.Contains(t, body, `"gap":"no balls"`)
	assert.Contains(t, body, `"missing":["Contact"`)
	empty := w.coach.get(fmt.Sprintf("/api/sessions/%d/lookback", w.ids.otherSession))
	assert.Equal(t, 200, empty.status, "a session without balls")
	assert.Contains(t, string(empty.body), `"balls":{"n":0,"question":""}`)
}

func TestNumbersRefuse(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	for _, c := range []struct{ name, path, field string }{
		{"an outcome nobody knows", "/api/compare?left=shot%3Dpull&right=shot%3Dcut&outcome=joy", "outcome"},
		{"too many outcomes", "/api/compare?" + strings.Repeat("outcome=effective&", 21), "outcome"},
		{"a damaged question", "/api/compare?left=player%3Danna", "player"},
		{"a name as long as a letter", "/api/compare?left_name=" + strings.Repeat("a", 200), "left_name"},
		{"a coder that is no number", fmt.Sprintf("/api/sessions/%d/lookback?coder=me", w.ids.session), "coder"},
		{"an outcome of progress", fmt.Sprintf("/api/players/%d/progress?outcome=joy", w.ids.asha), "outcome"},
		{"a ball that is no number", "/api/felt?ball=first", "ball"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got := w.coach.get(c.path)
			assert.Equal(t, http.StatusBadRequest, got.status)
			assert.Contains(t, string(got.body), c.field)
		})
	}
}

func TestAPlayerSaysHowItFelt(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	say := func(ball int64, words string) answer {
		return w.player.post("/api/felt", fmt.Sprintf(`{"uuid":%q,"ball_id":%d,"words":[%s]}`, uuid.New(), ball, words))
	}
	assert.Equal(t, http.StatusNoContent, say(w.ids.ball, `"strong","late"`).status)
	assert.Equal(t, http.StatusNotFound, say(w.ids.otherBall, `"strong"`).status, "another player's ball")
	assert.Equal(t, http.StatusBadRequest, say(w.ids.ball, `"grand"`).status)
	got := w.player.get(fmt.Sprintf("/api/felt?ball=%d&ball=%d", w.ids.ball, w.ids.otherBall))
	assert.Contains(t, string(got.body), `"words":["strong","late"]`)
	assert.Contains(t, string(got.body), `"name":"Off balance"`, "the words to choose from")
	seen := w.coach.get(fmt.Sprintf("/api/sessions/%d/lookback", w.ids.session))
	assert.Contains(t, string(seen.body), `"said":{"n":1,`)
}
