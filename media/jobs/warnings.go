package jobs

import (
	"context"
	"log/slog"
)

// warnings hands on what is a warning or worse: the queue's library tells how
// many jobs it has done every few seconds, which is no news to anybody.
type warnings struct{ slog.Handler }

// Warnings is a log that keeps what is a warning or worse.
func Warnings(log *slog.Logger) *slog.Logger { return slog.New(warnings{log.Handler()}) }

// Enabled implements slog.Handler.
func (w warnings) Enabled(ctx context.Context, level slog.Level) bool {
	return level >= slog.LevelWarn && w.Handler.Enabled(ctx, level)
}

// WithAttrs implements slog.Handler.
func (w warnings) WithAttrs(attrs []slog.Attr) slog.Handler {
	return warnings{w.Handler.WithAttrs(attrs)}
}

// WithGroup implements slog.Handler.
func (w warnings) WithGroup(name string) slog.Handler { return warnings{w.Handler.WithGroup(name)} }
