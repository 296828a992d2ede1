package local

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"time"

	"netreel/media/fault"
)

// How long a server that was told to stop may take before it is told more
// firmly, and how long a server that keeps failing is left alone at most.
const (
	stopGently  = 30 * time.Second
	stopFirmly  = 30 * time.Second
	longestRest = 15 * time.Second
)

// Server is a running private PostgreSQL.
type Server struct {
	cluster *cluster
	log     *slog.Logger
	lock    *os.File

	life  context.Context // ends when the server is to stop
	end   context.CancelFunc
	ended chan struct{} // closed when the last process is gone

	closing  sync.Once
	closeErr error
}

// Start runs PostgreSQL on the folder dir, making the cluster first if there
// is none, and returns when the database netreel takes connections. ctx bounds
// the start alone: a started server runs until Close.
//
// Every error is a fault: Unavailable when PostgreSQL is not installed or
// doesn't come up, Conflict when another program uses the folder, Unsupported
// when the cluster is of a version that is not installed, Invalid when the
// folder can't be used. Nothing that is in the folder is ever wiped.
func Start(ctx context.Context, dir string, log *slog.Logger) (*Server, error) {
	return start(ctx, dir, log, nil)
}

// StartForTests is Start without the care for durability: faster, and data may
// be lost when the machine stops.
func StartForTests(ctx context.Context, dir string, log *slog.Logger) (*Server, error) {
	return start(ctx, dir, log, []string{
		"fsync=off", "synchronous_commit=off", "full_page_writes=off", "max_connections=300",
	})
}

func start(ctx context.Context, dir string, log *slog.Logger, extra []string) (_ *Server, err error) {
	const op = "local.Start"
	if dir, err = filepath.Abs(dir); err != nil {
		return nil, fault.Wrap(err, fault.Invalid, op, "the data folder's path can't be made out: give an absolute path")
	}
	if err = os.MkdirAll(dir, 0o700); err != nil {
		return nil, fault.Wrap(err, fault.Invalid, op, "the data folder "+strconv.Quote(dir)+" can't be made: check its place and permissions")
	}
	lock, err := takeLock(filepath.Join(dir, "lock"))
	if err != nil {
		return nil, fault.At(op, err)
	}
	s := &Server{log: log, lock: lock, ended: make(chan struct{})}
	s.life, s.end = context.WithCancel(context.WithoutCancel(ctx))
	if s.cluster, err = openCluster(ctx, dir, log, extra); err != nil {
		close(s.ended)
		return nil, fault.At(op, errors.Join(err, s.Close()))
	}
	p, err := s.cluster.up(ctx, s.life)
	if err != nil {
		close(s.ended)
		return nil, fault.At(op, errors.Join(err, s.Close()))
	}
	go s.watch(p)
	if err = ensureDatabase(ctx, s.cluster.url("postgres")); err != nil {
		return nil, fault.At(op, errors.Join(err, s.Close()))
	}
	return s, nil
}

// URL returns the address of the database netreel, complete in itself: the
// socket's folder, the port, the user and the mode, so that the PG… variables
// of the environment can't bend it.
func (s *Server) URL() string { return s.cluster.url(databaseName) }

// Close stops PostgreSQL and returns when it is gone: transactions in progress
// are rolled back; after 30 s it is told to stop at once, which the next start
// recovers from. Further calls return what the first one did.
func (s *Server) Close() error {
	s.closing.Do(func() {
		s.end()
		<-s.ended
		var err error
		if s.cluster != nil {
			err = s.cluster.close()
		}
		s.closeErr = errors.Join(err, giveUp(s.lock))
	})
	return s.closeErr
}

// watch keeps the server running until Close: a server that ended by itself is
// started again, with growing rests while that fails. It never gives up, since
// what stops PostgreSQL (a full disk, for one) is put right by a person while
// we run.
func (s *Server) watch(p *process) {
	defer close(s.ended)
	rest := time.Second
	for {
		if p != nil {
			<-p.exited
			if s.life.Err() != nil {
				s.cluster.stopErr = p.err
				return
			}
			s.log.Error("PostgreSQL ended by itself and is started again", "err", p.err, "said", s.cluster.said())
		}
		var err error
		if p, err = s.cluster.up(s.life, s.life); err == nil {
			rest = time.Second
			continue
		}
		if s.life.Err() != nil {
			return
		}
		s.log.Error("PostgreSQL can't be started", "err", err, "again_in", rest)
		select {
		case <-time.After(rest):
		case <-s.life.Done():
			return
		}
		rest = min(2*rest, longestRest)
	}
}
