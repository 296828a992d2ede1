//go:build linux

package local_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

func itoa(n int) string { return strconv.Itoa(n) }

// games is an ordinary user that every Debian has (base-passwd); PostgreSQL
// wants its user to have a name.
var games = &syscall.Credential{Uid: 5, Gid: 60}

// needRoot leaves out what only root can try: becoming another user. The same
// tests run as root where the project is checked.
func needRoot(t *testing.T) {
	t.Helper()
	if os.Geteuid() != 0 {
		t.Skip("only root can become another user")
	}
}

// openTo makes a folder that the user can reach and write to.
func openTo(t *testing.T, who *syscall.Credential) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "netreel-user")
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, os.RemoveAll(dir)) })
	require.NoError(t, os.Chown(dir, int(who.Uid), int(who.Gid)))
	return dir
}

func ownerOf(t *testing.T, path string) uint32 {
	t.Helper()
	var at syscall.Stat_t
	require.NoError(t, syscall.Stat(path, &at))
	return at.Uid
}

// Root's temporary folders let nobody else in, as /root does: PostgreSQL runs
// in one all the same, as a user who is not root.
func TestAsRootInAClosedFolder(t *testing.T) {
	t.Parallel()
	needRoot(t)
	dir := filepath.Join(t.TempDir(), "closed")
	require.NoError(t, os.Mkdir(dir, 0o700))
	requireMarksAfterFirst(t, start(t, dir).URL())
	require.NotZero(t, ownerOf(t, filepath.Join(dir, "data")))
	require.NotZero(t, ownerOf(t, filepath.Join("/proc", itoa(postmaster(t, dir)))))
}

func TestAsOrdinaryUserThenAsRoot(t *testing.T) {
	t.Parallel()
	needRoot(t)
	dir := openTo(t, games)
	p := startParent(t, dir, games)
	word, url := p.hear(t)
	require.Equal(t, "ready", word, url)
	markOne(t, url)
	require.Equal(t, games.Uid, ownerOf(t, filepath.Join("/proc", itoa(postmaster(t, dir)))))
	p.end(t)

	s := start(t, dir)
	requireMarks(t, 1, s.URL())
	require.NoError(t, s.Close())

	p = startParent(t, dir, games)
	word, url = p.hear(t)
	require.Equal(t, "ready", word, url)
	requireMarks(t, 1, url)
	p.end(t)
}

func TestFolderOfAnotherUser(t *testing.T) {
	t.Parallel()
	needRoot(t)
	dir := openTo(t, games)
	s := start(t, dir)
	require.NoError(t, s.Close())
	require.NoError(t, os.Chown(filepath.Join(dir, "lock"), int(games.Uid), int(games.Gid)))
	word, why := startParent(t, dir, games).hear(t)
	require.Equal(t, "failed", word)
	require.Contains(t, why, "another user")
}

func TestFolderThatCannotBeWritten(t *testing.T) {
	t.Parallel()
	needRoot(t)
	dir := openTo(t, &syscall.Credential{})
	word, why := startParent(t, dir, games).hear(t)
	require.Equal(t, "failed", word)
	require.Contains(t, why, "permissions")
}

// A copy made by root, from a backup say, belongs to root.
func TestCopyMadeByRoot(t *testing.T) {
	t.Parallel()
	needRoot(t)
	dir, copied := t.TempDir(), t.TempDir()
	s := start(t, dir)
	markOne(t, s.URL())
	require.NoError(t, s.Close())
	require.NoError(t, exec.CommandContext(t.Context(), "cp", "-r", dir+"/data", copied).Run())
	requireMarks(t, 1, start(t, copied).URL())
}
