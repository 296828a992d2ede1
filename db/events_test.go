package db_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/db"
	"netreel/media"
	"netreel/tagging"
)

// ear hears a store's events in a test.
type ear struct {
	t      *testing.T
	events chan tagging.Event
	ended  chan error
}

func listen(ctx context.Context, t *testing.T, store *db.Store) *ear {
	t.Helper()
	e := &ear{t: t, events: make(chan tagging.Event, 1000), ended: make(chan error, 1)}
	go func() { e.ended <- store.Listen(ctx, func(x tagging.Event) { e.events <- x }) }()
	assert.Equal(t, tagging.Event{Topic: db.Everything}, e.next(), "it is heard from now on")
	return e
}

func (e *ear) next() tagging.Event {
	e.t.Helper()
	select {
	case x := <-e.events:
		return x
	case <-time.After(30 * time.Second):
		e.t.Fatal("nothing was heard")
	}
	return tagging.Event{}
}

// until collects events up to one of a topic.
func (e *ear) until(topic string) (heard []string) {
	e.t.Helper()
	for {
		x := e.next()
		heard = append(heard, fmt.Sprintf("%s %d", x.Topic, x.ID))
		if x.Topic == topic {
			return heard
		}
	}
}

func TestEveryChangeIsTold(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	id, rec := w.filmed(2)
	b := w.balls(id)
	clip := b[0].Clips[0].ID
	r := w.reel(tagging.ReelInput{Title: "R", Balls: picked(b[0].ID)})
	e := listen(ctx, t, w.store)

	edit := as(b[0])
	edit.State = tagging.Accepted
	var upload tagging.Upload
	for _, c := range []struct {
		what   func()
		topics []string
	}{
		{func() { w.edit(id, edit) }, []string{"lane 1"}},
		{func() { w.say(w.coach, term(b[1].ID, "shot", "pull"), note(b[1].ID, "x")) }, []string{"observation 2"}},
		{func() { _, err := w.store.SaveQuick(ctx, clip, 1, tagging.ClipFile{}); require.NoError(t, err) }, []string{"recording 1", "clip 1"}},
		{func() { require.NoError(t, w.store.SavePoster(ctx, clip, 1)) }, nil}, // who asked for it gets it
		{func() { require.NoError(t, w.store.SetProgress(ctx, rec, "clips", 0.5)) }, []string{"recording 1"}},
		{func() { w.split(rec, found(1, 3, 5)) }, []string{"recording 1", "lane 1"}},
		{func() { upload = w.open(id, media.SideOn, "a.mp4") }, []string{"upload 2"}},
		{func() { require.NoError(t, w.store.MarkLanded(ctx, upload.TusID)) }, []string{"upload 2"}},
		{func() { _, err := w.store.LandUpload(ctx, upload.ID, [32]byte{1}, 1); require.NoError(t, err) }, []string{"upload 2", "recording 2"}},
		{func() { w.session() }, []string{"session 2"}},
		{func() { _, _, err := w.store.AddShare(ctx, w.coach, r.ID, days(3)); require.NoError(t, err) }, []string{"reel 1"}},
		{func() { _, err := w.store.AddExport(ctx, w.coach, r.ID, true); require.NoError(t, err) }, []string{"export 1"}},
		{func() { require.NoError(t, w.store.RenameSquad(ctx, w.coach, "Fen")) }, []string{fmt.Sprintf("people %d", w.coach.SquadID)}},
		{func() { require.NoError(t, w.store.DeleteRecording(ctx, w.coach, rec)) }, []string{"recording 1", "lane 1"}},
	} {
		c.what()
		// The same event twice in one transaction is told once (PostgreSQL documentation, NOTIFY).
		heard := []string{}
		for range c.topics {
			x := e.next()
			assert.Equal(t, w.coach.SquadID, x.SquadID)
			heard = append(heard, fmt.Sprintf("%s %d", x.Topic, x.ID))
		}
		assert.ElementsMatch(t, c.topics, heard)
	}

	// What is refused is not told.
	_, err := w.store.EditLane(ctx, w.analyst, id, tagging.LaneEdit{Balls: []tagging.BallEdit{as(b[1]), edit}})
	require.Error(t, err)
	w.session()
	assert.Equal(t, []string{"session 3"}, e.until("session"))
	cancel()
	assert.NoError(t, <-e.ended, "it ends when it is told to")
}

func TestListenAgain(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	e := listen(ctx, t, w.store)
	_, err := w.store.Pool().Exec(ctx, `SELECT pg_terminate_backend(pid) FROM pg_stat_activity
		WHERE datname = current_database() AND query LIKE 'LISTEN%'`)
	require.NoError(t, err)
	assert.Equal(t, []string{"everything 0"}, e.until(db.Everything), "what was told meanwhile was not heard")
	id := w.session()
	assert.Equal(t, []string{fmt.Sprintf("session %d", id)}, e.until("session"))
	_, err = w.store.Pool().Exec(ctx, `SELECT pg_notify('netreel', 'not JSON')`)
	require.NoError(t, err)
	id = w.session()
	assert.Equal(t, []string{fmt.Sprintf("session %d", id)}, e.until("session"), "nonsense is passed over")
	cancel()
	assert.NoError(t, <-e.ended)
}
