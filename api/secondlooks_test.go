package api_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestSecondLookIsComparedOnceFinished(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	at := func(look int64, what string) string { return fmt.Sprintf("/api/second-looks/%d%s", look, what) }
	type term struct{ Name, Trust string }
	type agreement struct {
		Floor  float64
		Gap    string
		Groups []struct {
			Key, Text string
			Names     []string
			Cells     [][]struct {
				N        int
				Question string
			}
			Kappa struct{ Gap string }
			Terms []term
		}
	}
	var one agreement
	w.coach.get(at(w.ids.look, "/agreement")).is(200).into(&one)
	assert.InDelta(t, .6, one.Floor, 1e-12)
	assert.Contains(t, one.Gap, "less than an hour after the first coding: memory may have done part of it")
	g := one.Groups[0]
	assert.Equal(t, []string{"Cut", "Pull"}, g.Names)
	assert.Equal(t, 1, g.Cells[1][0].N)
	assert.Equal(t, fmt.Sprintf("ball=%d", w.ids.ball), g.Cells[1][0].Question, "the clips of a cell are one question away")
	assert.Empty(t, g.Cells[0][0].Question)
	assert.Equal(t, []term{{"Cut", "untrusted"}, {"Pull", "untrusted"}}, g.Terms)

	blind := w.coach.get(at(w.ids.openLook, "")).is(200)
	assert.NotContains(t, string(blind.body), "pull")
	assert.NotContains(t, string(blind.body), "Hands early")
	assert.Contains(t, w.coach.get(at(w.ids.openLook, "/agreement")).problem(409), "once the second look is finished")

	w.coach.post(at(w.ids.openLook, "/balls"), fmt.Sprintf(`{"ball_id":%d,"seen":{"shot":["pull"]}}`, w.ids.ball)).is(204)
	assert.Contains(t, w.analyst.post(at(w.ids.openLook, "/balls"), fmt.Sprintf(`{"ball_id":%d,"seen":{}}`, w.ids.ball)).problem(403), "second time")
	w.coach.post(at(w.ids.openLook, "/finish"), "").is(204)
	var all agreement
	w.analyst.get("/api/agreement").is(200).into(&all)
	assert.Equal(t, "The same on 1 of 2 balls; beyond chance 0.00, where 1 is perfect and 0 is what chance gives.", all.Groups[0].Text)

	assert.Contains(t, all.Gap, "In 2 of 2 second looks")

	w.coach.json("PUT", "/api/agreement", `{"floor":0}`).is(204)
	w.coach.json("PUT", "/api/agreement", `{"floor":2}`).problem(400)
	w.analyst.get("/api/agreement").is(200).into(&all)
	assert.Equal(t, "trusted", all.Groups[0].Terms[0].Trust)
}
