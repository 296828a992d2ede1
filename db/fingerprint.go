package db

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"log/slog"

	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivermigrate"
)

// Fingerprint names the state that Migrate brings a database to: 12 hex digits
// that differ when a migration, ours or the queue's, differs. Tests name the
// database that they clone after it.
func Fingerprint() (string, error) {
	sum := sha256.New()
	names, err := fs.Glob(migrations, "migrations/*.sql")
	if err != nil {
		return "", fmt.Errorf("db.Fingerprint: %w", err)
	}
	for _, name := range names {
		text, err := migrations.ReadFile(name)
		if err != nil {
			return "", fmt.Errorf("db.Fingerprint: %w", err)
		}
		fmt.Fprintf(sum, "%s\n%d\n%s", name, len(text), text)
	}
	queue, err := rivermigrate.New(riverpgxv5.New(nil), &rivermigrate.Config{Logger: slog.New(slog.DiscardHandler)})
	if err != nil {
		return "", fmt.Errorf("db.Fingerprint: %w", err)
	}
	for _, m := range queue.AllVersions() {
		fmt.Fprintf(sum, "%d\n%d\n%s", m.Version, len(m.SQLUp), m.SQLUp)
	}
	return hex.EncodeToString(sum.Sum(nil))[:12], nil
}
