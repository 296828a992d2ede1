// Package db keeps everything in PostgreSQL: one file an aggregate, each
// statement a constant (sqlXxx) beside the function that runs it.
//
// Every public method of Store is a whole use case: it checks what the viewer
// may see or change, runs in one transaction, enqueues the jobs that follow
// and tells the pages what changed, all in that same transaction.
//
// Locks are taken in one order, so that use cases can't block each other for
// ever: squad, net_session, recording, delivery, clip.
//
// The package must not know HTTP, files or tools.
package db

import (
	"context"
	"fmt"
	"log/slog"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"

	"netreel/media/jobs"
)

// Store is the database. It is safe for use by many goroutines.
type Store struct {
	pool  *pgxpool.Pool
	queue *river.Client[pgx.Tx] // inserts only: who works the jobs is somebody else's affair
	log   *slog.Logger
}

var _ jobs.Store = (*Store)(nil)

// enoughConns is how many connections requests, workers and the queue's own
// upkeep want between them; pgxpool would go by the number of cores, but they
// wait for disks and for each other.
const enoughConns = 16

// Open connects to a migrated database. The caller closes the Store.
func Open(ctx context.Context, url string, log *slog.Logger) (*Store, error) {
	const op = "db.Open"
	config, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, badURL(op, err)
	}
	if !strings.Contains(url, "pool_max_conns") { // pgxpool's own setting in the address wins
		config.MaxConns = max(config.MaxConns, enoughConns)
	}
	pool, err := pgxpool.NewWithConfig(ctx, config)
	if err != nil {
		return nil, trouble(op, err)
	}
	if err := pool.Ping(ctx); err != nil {
		pool.Close()
		return nil, trouble(op, err)
	}
	queue, err := river.NewClient(riverpgxv5.New(pool), &river.Config{Logger: jobs.Warnings(log)})
	if err != nil {
		pool.Close()
		return nil, fmt.Errorf("%s: %w", op, err)
	}
	return &Store{pool: pool, queue: queue, log: log}, nil
}

// Close waits until all connections are given back, then closes them.
func (s *Store) Close() { s.pool.Close() }

// Pool is the connections, for those who keep something of their own in the
// same database: the workers' queue and the signed-in browsers.
func (s *Store) Pool() *pgxpool.Pool { return s.pool }

// querier is what the pool and a transaction have in common.
type querier interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
}

// inTx runs fn in a transaction and names the operation in its error. A
// transaction that PostgreSQL gave up for the sake of another is tried once
// more.
func (s *Store) inTx(ctx context.Context, op string, fn func(tx pgx.Tx) error) error {
	err := pgx.BeginFunc(ctx, s.pool, fn)
	if givenUp(err) {
		err = pgx.BeginFunc(ctx, s.pool, fn)
	}
	return trouble(op, err)
}

// read runs fn in a transaction that sees the database as it was at one
// moment, so that what several statements read fits together, and writes
// nothing.
func (s *Store) read(ctx context.Context, op string, fn func(tx pgx.Tx) error) error {
	snapshot := pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}
	return trouble(op, pgx.BeginTxFunc(ctx, s.pool, snapshot, fn))
}

// args are the named arguments of a statement; one that is missing or unused
// is an error.
type args = pgx.StrictNamedArgs

// all runs a statement and collects its rows into structs by column name.
func all[T any](ctx context.Context, q querier, sql string, a args) ([]T, error) {
	rows, err := q.Query(ctx, sql, a)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowToStructByName[T])
}

// one is all for exactly one row; none is pgx.ErrNoRows.
func one[T any](ctx context.Context, q querier, sql string, a args) (T, error) {
	rows, err := q.Query(ctx, sql, a)
	if err != nil {
		var zero T
		return zero, err
	}
	return pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[T])
}

// column runs a statement and collects its only column.
func column[T any](ctx context.Context, q querier, sql string, a args) ([]T, error) {
	rows, err := q.Query(ctx, sql, a)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowTo[T])
}

// value runs a statement of one row and one column; none is pgx.ErrNoRows.
func value[T any](ctx context.Context, q querier, sql string, a args) (T, error) {
	rows, err := q.Query(ctx, sql, a)
	if err != nil {
		var zero T
		return zero, err
	}
	return pgx.CollectExactlyOneRow(rows, pgx.RowTo[T])
}
