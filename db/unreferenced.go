package db

import (
	"context"
	"encoding/hex"
	"fmt"
	"strings"

	"netreel/media/blob"
)

const (
	sqlContentsThere = `SELECT DISTINCT sha256 FROM recording WHERE sha256 = ANY(@contents::bytea[])`

	sqlClipFilesThere = `
		SELECT id, revision, coalesce(quick_revision = revision, false) AS quick,
			coalesce(smooth_revision = revision, false) AS smooth, coalesce(poster_revision = revision, false) AS poster
		FROM clip WHERE id = ANY(@ids::bigint[])`

	sqlFilmsThere = `SELECT id FROM export WHERE id = ANY(@ids::bigint[]) AND state NOT IN ('failed', 'cancelled')`
)

// Unreferenced says which of these blob keys no row speaks of any more. Keys
// that are not formed as ours are never among them.
func (s *Store) Unreferenced(ctx context.Context, keys []string) ([]string, error) {
	const op = "db.Unreferenced"
	var contents [][]byte
	var clips, films []int64
	ours := map[string]bool{} // keys -> whether a row speaks of it
	for _, key := range keys {
		var n int64
		var revision int
		var rest string
		switch {
		case strings.HasPrefix(key, "originals/"):
			if sum, err := hex.DecodeString(strings.TrimPrefix(key, "originals/")); err == nil && len(sum) == 32 {
				contents, ours[key] = append(contents, sum), false
			}
		case scans(key, "clips/%d/%d-%s", &n, &revision, &rest):
			clips, ours[key] = append(clips, n), false
		case scans(key, "exports/%d.mp4", &n):
			films, ours[key] = append(films, n), false
		}
	}
	spokenOf, err := s.spokenOf(ctx, contents, clips, films)
	if err != nil {
		return nil, trouble(op, err)
	}
	for _, key := range spokenOf {
		ours[key] = true
	}
	var out []string
	for _, key := range keys {
		if spoken, known := ours[key]; known && !spoken {
			out = append(out, key)
		}
	}
	return out, nil
}

func scans(key, format string, into ...any) bool {
	n, err := fmt.Sscanf(key, format, into...)
	return err == nil && n == len(into)
}

// spokenOf lists the keys that rows speak of, among those of some contents,
// clips and films, by three statements.
func (s *Store) spokenOf(ctx context.Context, contents [][]byte, clips, films []int64) ([]string, error) {
	var keys []string
	sums, err := column[[]byte](ctx, s.pool, sqlContentsThere, args{"contents": contents})
	if err != nil {
		return nil, err
	}
	for _, sum := range sums {
		keys = append(keys, blob.OriginalKey([32]byte(sum)))
	}
	files, err := all[struct {
		ID                    int64
		Revision              int
		Quick, Smooth, Poster bool
	}](ctx, s.pool, sqlClipFilesThere, args{"ids": clips})
	if err != nil {
		return nil, err
	}
	for _, f := range files {
		if f.Quick {
			keys = append(keys, blob.ClipKey(f.ID, f.Revision, "quick"))
		}
		if f.Smooth {
			keys = append(keys, blob.ClipKey(f.ID, f.Revision, "smooth"))
		}
		if f.Poster {
			keys = append(keys, blob.PosterKey(f.ID, f.Revision))
		}
	}
	ids, err := column[int64](ctx, s.pool, sqlFilmsThere, args{"ids": films})
	if err != nil {
		return nil, err
	}
	for _, id := range ids {
		keys = append(keys, blob.ExportKey(id))
	}
	return keys, nil
}
