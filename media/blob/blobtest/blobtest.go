// Package blobtest is the law that every blob.Store obeys, as tests.
//
// It is for tests only: the program must not import it.
package blobtest

import (
	"bytes"
	"context"
	"errors"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/blob"
	"netreel/media/fault"
)

// Run holds a store against the contract of blob.Store. open returns an empty
// one and closes it at the test's end.
func Run(t *testing.T, open func(t *testing.T) blob.Store) {
	t.Helper()
	for _, c := range []struct {
		name string
		test func(*testing.T, blob.Store)
	}{
		{"keeps bytes", keepsBytes},
		{"keeps a large file", keepsLarge},
		{"replaces", replaces},
		{"misses", misses},
		{"deletes", deletes},
		{"refuses hostile keys", refusesKeys},
		{"refuses strange paths", refusesPaths},
		{"lists", lists},
		{"stages apart", stagesApart},
		{"sweeps", sweeps},
		{"stops", stops},
		{"serves many at once", servesMany},
		{"is a map", isMap},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			c.test(t, open(t))
		})
	}
}

// put stages and adopts some bytes.
func put(t require.TestingT, s blob.Store, key string, data []byte) {
	path := stage(t, s, key, data)
	require.NoError(t, s.Adopt(context.Background(), key, path))
}

func stage(t require.TestingT, s blob.Store, name string, data []byte) string {
	path, err := s.Stage(name)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, data, 0o600))
	return path
}

// get reads a whole file, or returns nil and the error.
func get(s blob.Store, key string) ([]byte, error) {
	r, info, err := s.Open(context.Background(), key)
	if err != nil {
		return nil, err
	}
	data, err := io.ReadAll(r)
	if err == nil && int64(len(data)) != info.Size {
		err = errors.New("size differs from what Open said")
	}
	return data, errors.Join(err, r.Close())
}

// names lists the keys with a prefix.
func names(t require.TestingT, s blob.Store, prefix string) []string {
	var keys []string
	require.NoError(t, s.List(context.Background(), prefix, func(i blob.Info) error {
		keys = append(keys, i.Key)
		return nil
	}))
	return keys
}

func keepsBytes(t *testing.T, s blob.Store) {
	before := time.Now().Add(-time.Minute)
	put(t, s, "clips/17/3-quick.mp4", []byte("bytes"))
	data, err := get(s, "clips/17/3-quick.mp4")
	require.NoError(t, err)
	assert.Equal(t, "bytes", string(data))

	info, err := s.Stat(t.Context(), "clips/17/3-quick.mp4")
	require.NoError(t, err)
	assert.Equal(t, blob.Info{Key: "clips/17/3-quick.mp4", Size: 5, ModTime: info.ModTime}, info)
	assert.True(t, info.ModTime.After(before))

	path, err := s.Path(t.Context(), "clips/17/3-quick.mp4")
	require.NoError(t, err)
	data, err = os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "bytes", string(data))

	put(t, s, "empty", nil)
	data, err = get(s, "empty")
	require.NoError(t, err)
	assert.Empty(t, data)
}

// keepsLarge uses more than 16 MiB, where remote stores begin to split files.
func keepsLarge(t *testing.T, s blob.Store) {
	data := make([]byte, 17<<20+3)
	random := rand.NewChaCha8([32]byte{1})
	_, _ = random.Read(data) // never fails
	put(t, s, "originals/large", data)
	r, info, err := s.Open(t.Context(), "originals/large")
	require.NoError(t, err)
	defer func() { assert.NoError(t, r.Close()) }()
	assert.Equal(t, int64(len(data)), info.Size)
	got, err := io.ReadAll(r)
	require.NoError(t, err)
	require.True(t, bytes.Equal(data, got), "other bytes came back")

	at, err := r.Seek(-5, io.SeekEnd)
	require.NoError(t, err)
	assert.Equal(t, int64(len(data)-5), at)
	got, err = io.ReadAll(r)
	require.NoError(t, err)
	assert.Equal(t, data[len(data)-5:], got)
}

func replaces(t *testing.T, s blob.Store) {
	put(t, s, "a/b", []byte("old"))
	r, _, err := s.Open(t.Context(), "a/b")
	require.NoError(t, err)
	defer func() { assert.NoError(t, r.Close()) }()
	put(t, s, "a/b", []byte("newer"))
	data, err := get(s, "a/b")
	require.NoError(t, err)
	assert.Equal(t, "newer", string(data))
	old, err := io.ReadAll(r)
	require.NoError(t, err)
	assert.Equal(t, "old", string(old), "an open reader goes on reading what it opened")
	assert.Equal(t, []string{"a/b"}, names(t, s, ""))
}

func misses(t *testing.T, s blob.Store) {
	ctx := t.Context()
	put(t, s, "a/b", []byte("x"))
	for _, key := range []string{"none", "a", "a/b/c", "a/bb"} {
		_, _, err := s.Open(ctx, key)
		assert.Equal(t, fault.NotFound, fault.KindOf(err), "Open %q: %v", key, err)
		_, err = s.Stat(ctx, key)
		assert.Equal(t, fault.NotFound, fault.KindOf(err), "Stat %q: %v", key, err)
		_, err = s.Path(ctx, key)
		assert.Equal(t, fault.NotFound, fault.KindOf(err), "Path %q: %v", key, err)
		assert.NoError(t, s.Delete(ctx, key), "Delete %q", key)
	}
	path, err := s.Stage("x.mp4")
	require.NoError(t, err)
	err = s.Adopt(ctx, "c", path)
	assert.Equal(t, fault.NotFound, fault.KindOf(err), "nothing was written there: %v", err)
	assert.Equal(t, []string{"a/b"}, names(t, s, ""))
}

func deletes(t *testing.T, s blob.Store) {
	ctx := t.Context()
	put(t, s, "a/b", []byte("x"))
	put(t, s, "a/c", []byte("y"))
	r, _, err := s.Open(ctx, "a/b")
	require.NoError(t, err)
	defer func() { assert.NoError(t, r.Close()) }()
	require.NoError(t, s.Delete(ctx, "a/b"))
	require.NoError(t, s.Delete(ctx, "a/b"), "a second time")
	_, err = get(s, "a/b")
	assert.Equal(t, fault.NotFound, fault.KindOf(err))
	data, err := io.ReadAll(r)
	require.NoError(t, err)
	assert.Equal(t, "x", string(data), "an open reader goes on reading")
	assert.Equal(t, []string{"a/c"}, names(t, s, ""))
	put(t, s, "a/b", []byte("again"))
	assert.Equal(t, []string{"a/b", "a/c"}, names(t, s, "a/"))
}

// HostileKeys are keys that no store may accept.
var HostileKeys = []string{
	"", ".", "..", "/", "/etc/passwd", "../x", "a/../b", "a/..", "a/./b", "./a", "a//b", "a/", ".hidden", "a/.b",
	`a\b`, `..\x`, "a\x00b", "a\nb", "a\x7fb", "\xff", "a\u202eb", "a\u200bb",
	strings.Repeat("a", 201), strings.Repeat("a/", 600) + "a",
}

func refusesKeys(t *testing.T, s blob.Store) {
	ctx := t.Context()
	for _, key := range HostileKeys {
		path := stage(t, s, "x", []byte("x"))
		_, _, openErr := s.Open(ctx, key)
		_, statErr := s.Stat(ctx, key)
		_, pathErr := s.Path(ctx, key)
		for what, err := range map[string]error{
			"Adopt": s.Adopt(ctx, key, path), "Open": openErr, "Stat": statErr, "Path": pathErr, "Delete": s.Delete(ctx, key),
		} {
			assert.Equal(t, fault.Invalid, fault.KindOf(err), "%s %q: %v", what, key, err)
		}
		assert.FileExists(t, path, "a refused file stays where it was")
	}
	assert.Empty(t, names(t, s, ""))
	for _, prefix := range []string{"..", "../", "/", "a/../", ".staged/", "a//"} {
		assert.Empty(t, names(t, s, prefix), "prefix %q", prefix)
	}
}

// refusesPaths: only what Stage named can be adopted.
func refusesPaths(t *testing.T, s blob.Store) {
	ctx := t.Context()
	stranger := filepath.Join(t.TempDir(), "stranger")
	require.NoError(t, os.WriteFile(stranger, []byte("x"), 0o600))
	staged, err := s.Stage("x")
	require.NoError(t, err)
	link := filepath.Join(filepath.Dir(staged), "link")
	require.NoError(t, os.Symlink(stranger, link))
	for _, path := range []string{stranger, "", ".", link, filepath.Dir(staged), filepath.Join(filepath.Dir(staged), "..", "x")} {
		err := s.Adopt(ctx, "key", path)
		assert.Equal(t, fault.Invalid, fault.KindOf(err), "%q: %v", path, err)
	}
	assert.FileExists(t, stranger)
	assert.Empty(t, names(t, s, ""))
}

func lists(t *testing.T, s blob.Store) {
	// In the order of the bytes "-" comes before "/", and that before "0".
	all := []string{"a", "b-c", "b/1", "b/1-x", "b/10", "b/2", "b/sub/é", "b0", "c/x"}
	for _, key := range slices.Backward(all) {
		put(t, s, key, []byte(key))
	}
	for _, c := range []struct {
		prefix string
		want   []string
	}{
		{"", all},
		{"b", []string{"b-c", "b/1", "b/1-x", "b/10", "b/2", "b/sub/é", "b0"}},
		{"b/", []string{"b/1", "b/1-x", "b/10", "b/2", "b/sub/é"}},
		{"b/1", []string{"b/1", "b/1-x", "b/10"}},
		{"b/s", []string{"b/sub/é"}},
		{"b/sub/é", []string{"b/sub/é"}},
		{"b/sub/é/", nil},
		{"d", nil},
	} {
		assert.Equal(t, c.want, names(t, s, c.prefix), "prefix %q", c.prefix)
	}
	enough := errors.New("enough")
	seen := 0
	err := s.List(t.Context(), "", func(i blob.Info) error {
		assert.Equal(t, int64(len(i.Key)), i.Size)
		seen++
		return enough
	})
	assert.ErrorIs(t, err, enough)
	assert.Equal(t, 1, seen)
}

func stagesApart(t *testing.T, s blob.Store) {
	seen := map[string]bool{}
	for _, name := range []string{"film.mp4", "film.mp4", "../../x.jpg", "no extension", "a.b/c", "x." + strings.Repeat("y", 300), ""} {
		path, err := s.Stage(name)
		require.NoError(t, err)
		assert.False(t, seen[path])
		seen[path] = true
		assert.NoFileExists(t, path)
		require.NoError(t, os.WriteFile(path, []byte(name), 0o600))
		if ext := filepath.Ext(name); ext == ".mp4" || ext == ".jpg" {
			assert.Equal(t, ext, filepath.Ext(path))
		}
	}
	assert.Empty(t, names(t, s, ""), "staged files are not listed")
	for path := range seen {
		require.NoError(t, s.Adopt(t.Context(), "x/"+filepath.Base(path), path))
		assert.NoFileExists(t, path, "the staged file is taken over")
	}
	assert.Len(t, names(t, s, "x/"), len(seen))
}

func sweeps(t *testing.T, s blob.Store) {
	put(t, s, "kept", []byte("kept"))
	young := stage(t, s, "young", nil)
	old := stage(t, s, "old", nil)
	folder, err := s.Stage("")
	require.NoError(t, err)
	require.NoError(t, os.Mkdir(folder, 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(folder, "piece"), nil, 0o600))
	for _, path := range []string{old, filepath.Join(folder, "piece"), folder} {
		ago := time.Now().Add(-2 * time.Hour)
		require.NoError(t, os.Chtimes(path, ago, ago))
	}
	n, err := s.SweepStaged(t.Context(), time.Hour)
	require.NoError(t, err)
	assert.Equal(t, 2, n)
	assert.NoFileExists(t, old)
	assert.NoDirExists(t, folder)
	assert.FileExists(t, young)
	assert.Equal(t, []string{"kept"}, names(t, s, ""))
	n, err = s.SweepStaged(t.Context(), time.Hour)
	require.NoError(t, err)
	assert.Zero(t, n)
}

// stops: every method that takes a context gives up when it has ended.
func stops(t *testing.T, s blob.Store) {
	put(t, s, "a", []byte("a"))
	path := stage(t, s, "x", []byte("b"))
	enough := errors.New("enough")
	ctx, cancel := context.WithCancelCause(t.Context())
	cancel(enough)
	_, _, openErr := s.Open(ctx, "a")
	_, statErr := s.Stat(ctx, "a")
	_, pathErr := s.Path(ctx, "a")
	_, sweepErr := s.SweepStaged(ctx, 0)
	for what, err := range map[string]error{
		"Adopt": s.Adopt(ctx, "a", path), "Open": openErr, "Stat": statErr, "Path": pathErr, "Delete": s.Delete(ctx, "a"),
		"List": s.List(ctx, "", func(blob.Info) error { return nil }), "SweepStaged": sweepErr,
	} {
		assert.ErrorIs(t, err, enough, what)
	}
	data, err := get(s, "a")
	require.NoError(t, err)
	assert.Equal(t, "a", string(data))
}

// servesMany: of many that adopt one key at once, one whole file stays.
func servesMany(t *testing.T, s blob.Store) {
	var group sync.WaitGroup
	for i := range 16 {
		group.Go(func() {
			put(assertive{t}, s, "deep/down/key", bytes.Repeat([]byte{byte('a' + i)}, 10_000))
			data, err := get(s, "deep/down/key")
			assert.NoError(t, err)
			assert.Equal(t, bytes.Repeat(data[:1], 10_000), data, "a torn file")
		})
	}
	group.Wait()
	assert.Equal(t, []string{"deep/down/key"}, names(t, s, ""))
}

// assertive lets helpers that stop a test be used outside its goroutine: they
// only mark it.
type assertive struct{ *testing.T }

func (assertive) FailNow() {}
