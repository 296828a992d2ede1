package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/alexedwards/scs/pgxstore"
	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"golang.org/x/sync/errgroup"

	"netreel/api"
	"netreel/db"
	"netreel/db/local"
	"netreel/frontend"
	"netreel/media/blob"
	"netreel/media/fault"
	"netreel/media/ffmpeg"
	"netreel/media/jobs"
	"netreel/media/paper"
)

// App is the whole program, wired: a value that a test can start. It is the
// only place that knows everybody.
type App struct {
	cfg      Config
	log      *slog.Logger
	held     *hold         // the data folder's lock
	pg       *local.Server // nil with a DATABASE_URL
	database string        // its address
	store    *db.Store
	tool     *ffmpeg.Tool
	blobs    *blob.Folder
	hub      *hub
	workers  *river.Client[pgx.Tx]
	api      *api.Server
	listener net.Listener  // nil without a page
	patience time.Duration // how long requests under way may take to end
}

// How long requests and jobs that are under way may take to end when the
// program is told to. Jobs need more than their soft stop (jobs.Config).
const (
	requestPatience = 20 * time.Second
	jobsPatience    = 30 * time.Second
)

// New opens everything: the data folder, the database (migrated), the tools.
// It listens but does not serve yet; what was opened is closed again when a
// later step fails.
func New(ctx context.Context, cfg Config, log *slog.Logger) (_ *App, err error) {
	a := &App{cfg: cfg, log: log, hub: newHub(), patience: requestPatience}
	defer func() {
		if err != nil {
			err = errors.Join(err, a.Close())
		}
	}()
	if err := a.openStore(ctx); err != nil {
		return nil, err
	}
	if a.tool, err = ffmpeg.Find(log); err != nil {
		return nil, err
	}
	if a.blobs, err = blob.NewFolder(filepath.Join(cfg.Data, "files")); err != nil {
		return nil, err
	}
	deps := jobs.Deps{Store: a.store, Blobs: a.blobs, Tool: a.tool, UploadDir: a.cfg.uploads(), Name: a.held.name, Log: log}
	if a.workers, err = river.NewClient(riverpgxv5.New(a.store.Pool()), jobs.Config(deps, cfg.Tools)); err != nil {
		return nil, fmt.Errorf("river: %w", err)
	}
	if err := a.listen(ctx); err != nil {
		return nil, err
	}
	page, built := frontend.Files()
	if !built {
		page = nil
	}
	sessions := pgxstore.NewWithCleanupInterval(a.store.Pool(), 0) // the sweep drops those that are over
	a.api, err = api.New(api.Config{
		Store: a.store, Blobs: a.blobs, Posters: jobs.NewPosters(deps), Ears: jobs.NewEars(deps), Printer: paper.Find(log), Events: a.hub, Log: log, Page: page,
		PublicURL: a.cfg.PublicURL, SelfURL: selfURL(a.listener.Addr()), Secure: strings.HasPrefix(a.cfg.PublicURL, "https://"),
		UploadDir: cfg.uploads(), MaxUpload: cfg.MaxUpload, Sessions: sessions, TrustedProxies: cfg.TrustedProxies,
	})
	if err != nil {
		return nil, err
	}
	return a, a.held.announce(holdNote{Database: a.database, Address: a.cfg.PublicURL})
}

// listen takes the port. Where the system was to choose it, the address that
// people are told is known from here on.
func (a *App) listen(ctx context.Context) (err error) {
	if a.listener, err = new(net.ListenConfig).Listen(ctx, "tcp", a.cfg.Listen); err != nil {
		return fault.Wrap(err, fault.Unavailable, "app.New",
			fmt.Sprintf("Can't listen on %s. Is another server running there? Choose another address with --listen.", a.cfg.Listen))
	}
	if a.cfg.PublicURL == "" {
		host, port, err := net.SplitHostPort(a.listener.Addr().String())
		if err != nil {
			return err
		}
		a.cfg.PublicURL = plainURL(host, port)
	}
	return nil
}

// selfURL is how this machine reaches a listener of its own.
func selfURL(listening net.Addr) string {
	host, port, _ := net.SplitHostPort(listening.String()) // of a TCP listener: always both
	if ip := net.ParseIP(host); ip == nil || ip.IsUnspecified() {
		host = "127.0.0.1"
	}
	return "http://" + net.JoinHostPort(host, port)
}

// openStore takes the data folder, and opens and migrates the database.
func (a *App) openStore(ctx context.Context) (err error) {
	if a.held, err = takeFolder(a.cfg.Data); err != nil {
		return err
	}
	if err := os.MkdirAll(a.cfg.uploads(), 0o750); err != nil {
		return fault.Wrap(err, fault.Unavailable, "app.New", "Can't make the folder for uploads in "+a.cfg.Data+".")
	}
	a.database = a.cfg.DatabaseURL
	if a.database == "" {
		if a.pg, err = local.Start(ctx, filepath.Join(a.cfg.Data, "postgres"), a.log); err != nil {
			return err
		}
		a.database = a.pg.URL()
	}
	if err := db.Migrate(ctx, a.database, a.log); err != nil {
		return err
	}
	if a.store, err = db.Open(ctx, a.database, a.log); err != nil {
		return err
	}
	n, err := a.store.TakeBack(ctx, a.held.name)
	if err != nil {
		return err
	}
	if n > 0 {
		a.log.Info("taking up the work that a kill cut off", "jobs", n)
	}
	return nil
}

// URL is the address by which people reach the server.
func (a *App) URL() string { return a.cfg.PublicURL }

// Run serves and works until ctx ends, then stops softly: requests and jobs
// get a moment to end, what is cut off is taken up at the next start.
func (a *App) Run(ctx context.Context) error {
	if err := a.workers.Start(context.WithoutCancel(ctx)); err != nil {
		return fmt.Errorf("river: %w", err)
	}
	g, ctx := errgroup.WithContext(ctx)
	server := &http.Server{
		Handler: a.api.Handler(), ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute,
		ErrorLog:    slog.NewLogLogger(a.log.Handler(), slog.LevelWarn),
		BaseContext: func(net.Listener) context.Context { return context.WithoutCancel(ctx) },
	}
	g.Go(func() error {
		if err := server.Serve(a.listener); !errors.Is(err, http.ErrServerClosed) {
			return err
		}
		return nil
	})
	g.Go(func() error { return endOf(ctx, a.store.Listen(ctx, a.hub.publish)) })
	g.Go(func() error { return whenTold(ctx, jobsPatience, a.workers.Stop) })
	g.Go(func() error {
		return whenTold(ctx, a.patience, func(soft context.Context) error {
			a.api.Close() // ends the event streams, which would otherwise hold Shutdown up
			err := server.Shutdown(soft)
			if errors.Is(err, context.DeadlineExceeded) { // an upload, or a slow reader: both can go on where they were
				return server.Close()
			}
			return err
		})
	})
	return g.Wait()
}

// whenTold waits until ctx ends and then runs end, which has so much time.
func whenTold(ctx context.Context, patience time.Duration, end func(soft context.Context) error) error {
	<-ctx.Done()
	soft, cancel := context.WithTimeout(context.WithoutCancel(ctx), patience)
	defer cancel()
	return end(soft)
}

// runWhile serves until fn returns, stops, waits for that and closes. fn's
// context ends when the program does.
func (a *App) runWhile(ctx context.Context, fn func(ctx context.Context) error) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() error { return a.Run(ctx) })
	g.Go(func() error {
		defer stop()
		return fn(ctx)
	})
	return errors.Join(g.Wait(), a.Close())
}

// endOf turns the end of a loop that ctx ended into no error.
func endOf(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return nil
	}
	return err
}

// Close gives everything back, the private PostgreSQL last.
func (a *App) Close() error {
	var errs []error
	if a.listener != nil {
		if err := a.listener.Close(); !errors.Is(err, net.ErrClosed) {
			errs = append(errs, err)
		}
	}
	if a.store != nil {
		a.store.Close()
	}
	if a.blobs != nil {
		errs = append(errs, a.blobs.Close())
	}
	if a.pg != nil {
		errs = append(errs, a.pg.Close())
	}
	if a.held != nil {
		errs = append(errs, a.held.release())
	}
	return errors.Join(errs...)
}

func (c Config) uploads() string { return filepath.Join(c.Data, "uploads") }

var _ interface {
	api.Store
	jobs.Store
} = (*db.Store)(nil)
