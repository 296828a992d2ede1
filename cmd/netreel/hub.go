package main

import (
	"context"
	"sync"

	"netreel/tagging"
)

// hub hands the database's events on to the pages that listen. It implements
// api.Events.
type hub struct {
	mu   sync.Mutex
	subs map[*subscriber]struct{}
}

type subscriber struct {
	squad int64
	ch    chan tagging.Event
}

// hubBuffer is how many events a slow page may lag behind before it is told
// to fetch everything again.
const hubBuffer = 64

func newHub() *hub { return &hub{subs: map[*subscriber]struct{}{}} }

// Subscribe gives a squad's events until ctx ends; then the channel is closed.
func (h *hub) Subscribe(ctx context.Context, squadID int64) <-chan tagging.Event {
	s := &subscriber{squad: squadID, ch: make(chan tagging.Event, hubBuffer)}
	h.mu.Lock()
	h.subs[s] = struct{}{}
	h.mu.Unlock()
	context.AfterFunc(ctx, func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		delete(h.subs, s)
		close(s.ch)
	})
	return s.ch
}

// publish hands an event to every subscriber of its squad without waiting.
func (h *hub) publish(e tagging.Event) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for s := range h.subs {
		if e.SquadID == 0 || s.squad == e.SquadID { // squad 0: the line to the database was lost for a while
			s.offer(e)
		}
	}
}

// offer is called with the hub locked, so that nobody else sends. To a reader
// that is too slow one word stands for all that it missed.
func (s *subscriber) offer(e tagging.Event) {
	if len(s.ch) == cap(s.ch) {
		s.drain()
		e = tagging.Event{SquadID: e.SquadID, Topic: "everything"}
	}
	s.ch <- e
}

func (s *subscriber) drain() {
	for {
		select {
		case <-s.ch:
		default:
			return
		}
	}
}
