package main

import (
	"context"
	"errors"
	"log/slog"
	"path/filepath"

	"netreel/db"
	"netreel/db/local"
)

// withStore opens the database for a command that runs beside a server: that
// of the running server if there is one, else its own for as long as fn runs.
func withStore(ctx context.Context, cfg Config, log *slog.Logger, fn func(*db.Store) error) (err error) {
	url := cfg.DatabaseURL
	if url == "" {
		held, err := takeFolder(cfg.Data)
		switch {
		case errors.Is(err, errHeld):
			if url, err = runningDatabase(cfg.Data); err != nil {
				return err
			}
		case err != nil:
			return err
		default:
			defer func() { err = errors.Join(err, held.release()) }()
			pg, err := local.Start(ctx, filepath.Join(cfg.Data, "postgres"), log)
			if err != nil {
				return err
			}
			defer func() { err = errors.Join(err, pg.Close()) }()
			url = pg.URL()
			if err := db.Migrate(ctx, url, log); err != nil {
				return err
			}
		}
	}
	store, err := db.Open(ctx, url, log)
	if err != nil {
		return err
	}
	defer store.Close()
	return fn(store)
}
