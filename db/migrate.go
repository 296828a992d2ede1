package db

import (
	"context"
	"embed"
	"fmt"
	"io/fs"
	"log/slog"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivermigrate"

	"netreel/media/jobs"
)

//go:embed migrations/*.sql
var migrations embed.FS

// migrationLock is the advisory lock under which migrations run. Any number
// will do that nobody else takes in this database.
const migrationLock = 7_305_117_412

const (
	sqlLockMigrations   = `SELECT pg_advisory_lock(@key::bigint)`
	sqlUnlockMigrations = `SELECT pg_advisory_unlock(@key::bigint)`
)

// Migrate brings a database up to date: our own tables and the queue's. Any
// number of programs may call it at once; one works and the others wait.
func Migrate(ctx context.Context, url string, log *slog.Logger) error {
	const op = "db.Migrate"
	config, err := pgxpool.ParseConfig(url)
	if err != nil {
		return badURL(op, err)
	}
	pool, err := pgxpool.NewWithConfig(ctx, config)
	if err != nil {
		return trouble(op, err)
	}
	defer pool.Close()
	// The lock needs a connection of its own: it lasts as long as that one.
	lock, err := pgx.ConnectConfig(ctx, config.ConnConfig.Copy())
	if err != nil {
		return trouble(op, err)
	}
	defer func() { _ = lock.Close(context.WithoutCancel(ctx)) }()
	if _, err := lock.Exec(ctx, sqlLockMigrations, args{"key": migrationLock}); err != nil {
		return trouble(op, err)
	}
	if err := migrateOurs(ctx, pool, log); err != nil {
		return trouble(op, err)
	}
	if err := migrateQueue(ctx, pool, log); err != nil {
		return trouble(op, err)
	}
	_, err = lock.Exec(ctx, sqlUnlockMigrations, args{"key": migrationLock})
	return trouble(op, err)
}

func migrateOurs(ctx context.Context, pool *pgxpool.Pool, log *slog.Logger) error {
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return err
	}
	database := stdlib.OpenDBFromPool(pool)
	defer func() { _ = database.Close() }()
	provider, err := goose.NewProvider(goose.DialectPostgres, database, files,
		goose.WithDisableGlobalRegistry(true), goose.WithSlog(log))
	if err != nil {
		return err
	}
	done, err := provider.Up(ctx)
	for _, r := range done {
		log.InfoContext(ctx, "database migrated", "file", r.Source.Path, "took", r.Duration)
	}
	return err
}

func migrateQueue(ctx context.Context, pool *pgxpool.Pool, log *slog.Logger) error {
	migrator, err := rivermigrate.New(riverpgxv5.New(pool), &rivermigrate.Config{Logger: jobs.Warnings(log)})
	if err != nil {
		return fmt.Errorf("queue: %w", err)
	}
	if _, err := migrator.Migrate(ctx, rivermigrate.DirectionUp, nil); err != nil {
		return fmt.Errorf("queue: %w", err)
	}
	return nil
}
