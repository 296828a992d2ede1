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
// fn is told the address by which people reach the server, "" if that is not
// known before the server runs.
func withStore(ctx context.Context, cfg Config, log *slog.Logger, fn func(s *db.Store, address string) error) (err error) {
	url, address := cfg.DatabaseURL, cfg.PublicURL
	if url == "" {
		held, err := takeFolder(cfg.Data)
		switch {
		case errors.Is(err, errHeld):
			note, err := runningServer(cfg.Data)
			if err != nil {
				return err
			}
			url, address = note.Database, note.Address
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
	return fn(store, address)
}
