package main

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"

	"netreel/tagging"
)

func TestHubHandsOnOnlyTheSquadsEvents(t *testing.T) {
	t.Parallel()
	h := newHub()
	ctx, cancel := context.WithCancel(t.Context())
	mine := h.Subscribe(ctx, 1)
	h.publish(tagging.Event{SquadID: 2, Topic: "lane", ID: 7})
	h.publish(tagging.Event{SquadID: 1, Topic: "clip", ID: 8})
	assert.Equal(t, tagging.Event{SquadID: 1, Topic: "clip", ID: 8}, <-mine)

	cancel()
	_, open := <-mine
	assert.False(t, open, "the channel is closed when its reader leaves")
	h.publish(tagging.Event{SquadID: 1}) // and nobody is sent to any more
}

func TestHubTellsASlowReaderToFetchEverything(t *testing.T) {
	t.Parallel()
	h := newHub()
	slow := h.Subscribe(t.Context(), 1)
	for i := range hubBuffer + 1 {
		h.publish(tagging.Event{SquadID: 1, Topic: "clip", ID: int64(i)})
	}
	assert.Equal(t, "everything", (<-slow).Topic)
	h.publish(tagging.Event{SquadID: 1, Topic: "clip", ID: 99})
	assert.Equal(t, int64(99), (<-slow).ID, "later events arrive as usual")
}
