package api

import (
	"context"
	"sync"

	tus "github.com/tus/tusd/v2/pkg/handler"
)

// locks lets one request at a time into an upload. A second one, of a client
// whose connection broke, asks the first to end.
//
// tusd's own lock asks at once. If the first request has only just begun, it
// does not hear that, and holds the upload until its dead connection times out
// (and it is a data race). This one waits with asking until the first request
// takes bytes, which it hears of by begin.
type locks struct {
	mu   sync.Mutex
	held map[string]*heldLock // by upload id
}

type heldLock struct {
	interrupt func()
	begun     chan struct{} // closed when the holder takes bytes
	released  chan struct{} // closed when the holder has ended
	once      sync.Once     // of begun
}

func newLocks() *locks { return &locks{held: map[string]*heldLock{}} }

// NewLock implements tus.Locker.
func (l *locks) NewLock(id string) (tus.Lock, error) { return uploadLock{l, id}, nil }

// begin says that the holder of an upload's lock takes bytes from now on.
func (l *locks) begin(id string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if h, ok := l.held[id]; ok {
		h.once.Do(func() { close(h.begun) })
	}
}

type uploadLock struct {
	all *locks
	id  string
}

// Lock implements tus.Lock.
func (u uploadLock) Lock(ctx context.Context, requestUnlock func()) error {
	mine := &heldLock{interrupt: requestUnlock, begun: make(chan struct{}), released: make(chan struct{})}
	for {
		u.all.mu.Lock()
		other, taken := u.all.held[u.id]
		if !taken {
			u.all.held[u.id] = mine
		}
		u.all.mu.Unlock()
		if !taken {
			return nil
		}
		select {
		case <-other.begun:
			other.interrupt()
		case <-other.released:
		case <-ctx.Done():
			return tus.ErrLockTimeout
		}
		select {
		case <-other.released:
		case <-ctx.Done():
			return tus.ErrLockTimeout
		}
	}
}

// Unlock implements tus.Lock.
func (u uploadLock) Unlock() error {
	u.all.mu.Lock()
	defer u.all.mu.Unlock()
	if h, ok := u.all.held[u.id]; ok {
		delete(u.all.held, u.id)
		close(h.released)
	}
	return nil
}
