package db

import (
	"context"
	"encoding/json"
	"time"

	"github.com/jackc/pgx/v5"

	"netreel/tagging"
)

// channel is where changes are told, in the transaction that makes them.
const channel = "netreel"

// Everything is the topic that tells a page to fetch all it shows anew:
// events may have been lost.
const Everything = "everything"

// Back-off of a listener whose connection broke.
const (
	listenAgainAfter = 100 * time.Millisecond
	listenAgainMost  = 5 * time.Second
)

const (
	sqlTell   = `SELECT pg_notify(@channel, payload) FROM unnest(@payloads::text[]) AS payload`
	sqlListen = `LISTEN netreel`
)

// told is an event on its way, with the squad it is for.
type told struct {
	Squad int64 `json:"squad"`
	tagging.Event
}

// tell says that things of a squad changed, once the transaction commits.
func tell(ctx context.Context, tx pgx.Tx, squad int64, events ...tagging.Event) error {
	payloads := make([]string, len(events))
	for i, e := range events {
		b, err := json.Marshal(told{Squad: squad, Event: e})
		if err != nil {
			return err
		}
		payloads[i] = string(b)
	}
	_, err := tx.Exec(ctx, sqlTell, args{"channel": channel, "payloads": payloads})
	return err
}

// Listen calls fn for every change that is told until ctx ends, and then
// returns nil. Each time that it is connected, at first and after every
// break, it calls fn with an event of topic Everything and squad 0: changes
// before that were not heard. fn must not block.
func (s *Store) Listen(ctx context.Context, fn func(tagging.Event)) error {
	wait := listenAgainAfter
	for ctx.Err() == nil {
		connected, err := s.listen(ctx, fn)
		if ctx.Err() != nil {
			break
		}
		if connected {
			wait = listenAgainAfter
		}
		s.log.WarnContext(ctx, "lost the database's messages; connecting again", "error", err, "wait", wait)
		select {
		case <-ctx.Done():
		case <-time.After(wait):
		}
		wait = min(2*wait, listenAgainMost)
	}
	return nil
}

// listen works until the connection breaks or ctx ends.
func (s *Store) listen(ctx context.Context, fn func(tagging.Event)) (connected bool, err error) {
	// A connection of its own: one from the pool would be missing there for good.
	conn, err := pgx.ConnectConfig(ctx, s.pool.Config().ConnConfig)
	if err != nil {
		return false, err
	}
	defer func() { _ = conn.Close(context.WithoutCancel(ctx)) }()
	if _, err := conn.Exec(ctx, sqlListen); err != nil {
		return false, err
	}
	fn(tagging.Event{Topic: Everything})
	for {
		n, err := conn.WaitForNotification(ctx)
		if err != nil {
			return true, err
		}
		var t told
		if err := json.Unmarshal([]byte(n.Payload), &t); err != nil {
			s.log.WarnContext(ctx, "a message of the database can't be read", "payload", n.Payload, "error", err)
			continue
		}
		t.Event.SquadID = t.Squad
		fn(t.Event)
	}
}
