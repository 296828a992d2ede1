package api

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"time"

	"github.com/labstack/echo/v4"

	"netreel/media/fault"
	"netreel/tagging"
)

// heartbeat is how often a silent stream shows that it lives, and looks
// whether its reader is still signed in. slowReader is how long one write may
// take before the reader is given up.
const (
	heartbeat  = 20 * time.Second
	slowReader = 30 * time.Second
)

// signOfLife is an event of its own rather than a comment, because a page
// can't see comments, and so could not tell a dead line from a silent one.
const signOfLife = "event: here\ndata\n\n"

// events streams what changed (WHATWG HTML, section 9.2, server-sent events).
// It ends when the reader goes, signs out or is disabled, and when the server
// stops.
func (s *Server) events(c echo.Context) error {
	if !s.streams.enter() {
		return fault.New(fault.Unavailable, "api.events", "The server is stopping. Try again in a minute.")
	}
	defer s.streams.leave()
	ctx, cancel := context.WithCancel(c.Request().Context())
	defer cancel()
	stream := eventStream{w: c.Response(), out: http.NewResponseController(c.Response())}
	feed := s.feed.Subscribe(ctx, accountOf(ctx).SquadID)
	h := c.Response().Header()
	h.Set(echo.HeaderContentType, "text/event-stream")
	h.Set(echo.HeaderCacheControl, "no-store")
	h.Set("X-Accel-Buffering", "no") // a proxy that buffers would hold events back
	c.Response().WriteHeader(http.StatusOK)
	if stream.send("retry: 2000\n\n") != nil {
		return nil
	}
	beat := time.NewTicker(s.heartbeat)
	defer beat.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-s.streams.stopping:
			return nil
		case <-beat.C:
			if !s.stillSignedIn(ctx, c.Request()) || stream.send(signOfLife) != nil {
				return nil
			}
		case e, open := <-feed:
			if !open {
				return nil
			}
			if s.mayHear(ctx, &e) && stream.event(e) != nil {
				return nil
			}
		}
	}
}

type eventStream struct {
	w   http.ResponseWriter
	out *http.ResponseController
}

func (s eventStream) event(e tagging.Event) error {
	b, err := json.Marshal(e)
	if err != nil {
		return err
	}
	return s.send(fmt.Sprintf("data: %s\n\n", b))
}

func (s eventStream) send(text string) error {
	// Not every writer has deadlines (those of tests have none); then there is no slow reader either.
	_ = s.out.SetWriteDeadline(time.Now().Add(slowReader))
	if _, err := s.w.Write([]byte(text)); err != nil {
		return err
	}
	return s.out.Flush()
}

// stillSignedIn asks again: the session, or the print that held a ticket, may
// have ended, the account been disabled since the stream began.
func (s *Server) stillSignedIn(ctx context.Context, r *http.Request) bool {
	if s.tickets.holder(r) == 0 {
		if _, found, err := s.sessions.Store.Find(s.sessions.Token(ctx)); err != nil || !found {
			return false
		}
	}
	now, err := s.store.Account(ctx, accountOf(ctx).ID)
	return err == nil && now.Role == accountOf(ctx).Role && now.SquadID == accountOf(ctx).SquadID
}

// mayHear says whether an event is for the reader. Staff hear everything of
// their squad; a player of what they may see. Of a reel that a player can't see
// (any more) they hear that reels changed, but not which.
func (s *Server) mayHear(ctx context.Context, e *tagging.Event) bool {
	v := viewerOf(ctx)
	if v.Role.Staff() || e.Topic == "everything" {
		return true
	}
	var err error
	switch e.Topic {
	case "clip":
		_, err = s.store.Clip(ctx, v, e.ID)
	case "observation":
		_, err = s.store.Ball(ctx, v, e.ID)
	case "session":
		_, err = s.store.Session(ctx, v, e.ID)
	case "reel":
		if _, err := s.store.Reel(ctx, v, e.ID); err != nil {
			*e = tagging.Event{SquadID: e.SquadID, Topic: e.Topic}
		}
		return true
	case "vocabulary":
		return true
	default:
		return false
	}
	return err == nil
}

// streams counts the event streams, so that Close can end them.
type streams struct {
	mu       sync.Mutex
	running  sync.WaitGroup
	stopped  bool
	stopping chan struct{}
}

func newStreams() *streams { return &streams{stopping: make(chan struct{})} }

func (s *streams) enter() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.stopped {
		return false
	}
	s.running.Add(1)
	return true
}

func (s *streams) leave() { s.running.Done() }

func (s *streams) stop() {
	s.mu.Lock()
	if !s.stopped {
		s.stopped = true
		close(s.stopping)
	}
	s.mu.Unlock()
	s.running.Wait()
}
