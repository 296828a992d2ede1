package blob_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/blob"
	"netreel/media/blob/blobtest"
	"netreel/media/fault"
)

func openFolder(t *testing.T, dir string) *blob.Folder {
	t.Helper()
	f, err := blob.NewFolder(dir)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, f.Close()) })
	return f
}

func TestFolder(t *testing.T) {
	t.Parallel()
	blobtest.Run(t, func(t *testing.T) blob.Store { return openFolder(t, filepath.Join(t.TempDir(), "new", "store")) })
}

// TestFolderReopened: what was adopted is there for the next program, what was
// only staged is not.
func TestFolderReopened(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	first := openFolder(t, dir)
	for _, name := range []string{"kept", "staged only"} {
		path, err := first.Stage(name)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(path, []byte(name), 0o600))
		if name == "kept" {
			require.NoError(t, first.Adopt(t.Context(), "a/kept", path))
		}
	}
	var keys []string
	require.NoError(t, openFolder(t, dir).List(t.Context(), "", func(i blob.Info) error {
		keys = append(keys, i.Key)
		return nil
	}))
	assert.Equal(t, []string{"a/kept"}, keys)
}

// TestFolderKeepsInside: a link that somebody put into the folder does not lead
// out of it.
func TestFolderKeepsInside(t *testing.T) {
	t.Parallel()
	dir, outside := t.TempDir(), t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(outside, "secret"), []byte("secret"), 0o600))
	require.NoError(t, os.Symlink(outside, filepath.Join(dir, "out")))
	require.NoError(t, os.Symlink(filepath.Join(outside, "secret"), filepath.Join(dir, "file")))
	f := openFolder(t, dir)
	for _, key := range []string{"out/secret", "file"} {
		_, _, err := f.Open(t.Context(), key)
		assert.Error(t, err, key)
		_, err = f.Path(t.Context(), key)
		assert.Error(t, err, key)
	}
	require.NoError(t, f.List(t.Context(), "", func(i blob.Info) error {
		assert.Fail(t, "listed", i.Key)
		return nil
	}))
	path, err := f.Stage("x")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, []byte("x"), 0o600))
	assert.Error(t, f.Adopt(t.Context(), "out/new", path))
	assert.NoFileExists(t, filepath.Join(outside, "new"))
}

// TestFolderNameTaken: a key below another that is a file, or above one.
func TestFolderNameTaken(t *testing.T) {
	t.Parallel()
	f := openFolder(t, t.TempDir())
	adopt := func(key string) error {
		path, err := f.Stage("x")
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(path, nil, 0o600))
		return f.Adopt(t.Context(), key, path)
	}
	require.NoError(t, adopt("a/b"))
	assert.Equal(t, fault.Conflict, fault.KindOf(adopt("a")))
	assert.Equal(t, fault.Conflict, fault.KindOf(adopt("a/b/c")))
}

func TestNewFolderFaults(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	_, err := blob.NewFolder(file)
	require.Error(t, err)
	assert.NotEmpty(t, fault.Message(err))
}

func FuzzCheckKey(f *testing.F) {
	for _, key := range append(blobtest.HostileKeys, "originals/ab12", "clips/17/3-quick.mp4") {
		f.Add(key)
	}
	f.Fuzz(func(t *testing.T, key string) {
		if blob.CheckKey(key) != nil {
			return
		}
		// By the standard library's own judgement a good key stays inside.
		assert.True(t, filepath.IsLocal(key), "%q", key)
		assert.Equal(t, key, filepath.Clean(key), "%q", key)
	})
}
