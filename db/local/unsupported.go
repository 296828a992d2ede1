//go:build !linux

package local

import (
	"context"
	"log/slog"

	"netreel/media/fault"
)

// Server is a running private PostgreSQL; there is none on this system.
type Server struct{}

// Start fails: this system lacks what the private PostgreSQL stands on.
func Start(context.Context, string, *slog.Logger) (*Server, error) {
	return nil, fault.New(fault.Unsupported, "local.Start",
		"the private PostgreSQL runs on Linux only: start a PostgreSQL yourself and give its address in DATABASE_URL")
}

// StartForTests fails as Start does.
func StartForTests(ctx context.Context, dir string, log *slog.Logger) (*Server, error) {
	return Start(ctx, dir, log)
}

// URL is empty.
func (*Server) URL() string { return "" }

// Close does nothing.
func (*Server) Close() error { return nil }
