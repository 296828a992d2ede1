package api_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/tagging"
)

type ctx = context.Context

// stream is an open event stream.
type stream struct {
	t     *testing.T
	lines *bufio.Scanner
	close func()
}

func (c caller) listen(header ...string) stream {
	t := c.w.t
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	t.Cleanup(cancel)
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, c.w.http.URL+"/api/events", nil)
	require.NoError(t, err)
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	response, err := c.client.Do(r)
	require.NoError(t, err)
	t.Cleanup(func() { _ = response.Body.Close() })
	require.Equal(t, 200, response.StatusCode)
	require.Equal(t, "text/event-stream", response.Header.Get("Content-Type"))
	<-c.w.feed.seen
	return stream{t, bufio.NewScanner(response.Body), cancel}
}

// next is the next event; false when the stream has ended.
func (s stream) next() (tagging.Event, bool) {
	for s.lines.Scan() {
		if data, ok := strings.CutPrefix(s.lines.Text(), "data: "); ok {
			var e tagging.Event
			require.NoError(s.t, json.Unmarshal([]byte(data), &e))
			return e, true
		}
	}
	if err := s.lines.Err(); err != nil {
		require.ErrorIs(s.t, err, io.ErrUnexpectedEOF)
	}
	return tagging.Event{}, false
}

func (w *world) tell(topic string, id int64) {
	w.feed.publish(tagging.Event{SquadID: w.ids.squad, Topic: topic, ID: id})
}

func TestEvents(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	s := w.analyst.listen()
	w.feed.publish(tagging.Event{SquadID: w.ids.squad, Topic: "recording", ID: 7, Session: 3})
	e, ok := s.next()
	require.True(t, ok)
	assert.Equal(t, tagging.Event{Topic: "recording", ID: 7, Session: 3}, e)
}

// TestPlayerHearsOfTheirOwn: a player's stream tells nothing of other players'
// balls, nor of footage.
func TestPlayerHearsOfTheirOwn(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	private, err := w.store.AddReel(t.Context(), w.staff(), tagging.ReelInput{Title: "Not shared"})
	require.NoError(t, err)
	s := w.player.listen()
	for _, hidden := range []struct {
		topic string
		id    int64
	}{{"observation", w.ids.otherBall}, {"recording", w.ids.recording}, {"upload", w.ids.uploadRow}, {"lane", w.ids.session},
		{"export", w.ids.export}, {"session", w.ids.otherSession}, {"clip", 9999}, {"people", 1}} {
		w.tell(hidden.topic, hidden.id)
	}
	w.tell("reel", private.ID)
	w.tell("observation", w.ids.ball)
	w.tell("clip", w.ids.clip)
	w.tell("reel", w.ids.reel)
	w.tell("everything", 0)
	for _, want := range []tagging.Event{
		{Topic: "reel"}, // some reel, but not which
		{Topic: "observation", ID: w.ids.ball}, {Topic: "clip", ID: w.ids.clip}, {Topic: "reel", ID: w.ids.reel}, {Topic: "everything"},
	} {
		e, ok := s.next()
		require.True(t, ok)
		assert.Equal(t, want, e)
	}
}

func TestEventsEndWhenTheServerStops(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	s := w.coach.listen()
	w.server.Close()
	_, ok := s.next()
	assert.False(t, ok)
	w.coach.get("/api/events").problem(503)
}

// TestEventsEndWithTheSession: who signs out or is disabled hears nothing more
// after the next heartbeat.
func TestEventsEndWithTheSession(t *testing.T) {
	t.Parallel()
	for name, end := range map[string]func(w *world){
		"signed out": func(w *world) { w.player.do(http.MethodPost, "/api/sign-out", nil).is(204) },
		"disabled": func(w *world) {
			w.coach.json(http.MethodPatch, fmt.Sprintf("/api/accounts/%d", w.ids.playerAccount), `{"name":"Asha","disabled":true}`).is(200)
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := newWorld(t).fill()
			w.server.SetHeartbeat(5 * time.Millisecond)
			s := w.player.listen()
			end(w)
			_, ok := s.next()
			assert.False(t, ok)
		})
	}
}
