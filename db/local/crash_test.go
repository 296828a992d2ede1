//go:build linux

package local_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

func TestParentKilled(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	p := startParent(t, dir, nil)
	word, url := p.hear(t)
	require.Equal(t, "ready", word, url)
	markOne(t, url)
	server := postmaster(t, dir)
	p.kill9(t)
	requireGone(t, server) // the kernel tells it
	require.NoFileExists(t, filepath.Join(dir, "data", "postmaster.pid"), "it stopped in order")
	requireMarks(t, 1, start(t, dir).URL())
}

func TestParentKilledAndStartedAtOnce(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	p := startParent(t, dir, nil)
	_, url := p.hear(t)
	markOne(t, url)
	keepBusy(t, url)
	p.kill9(t)
	requireMarks(t, 1, start(t, dir).URL())
}

// A parent that is killed while the cluster is being made leaves half a
// cluster.
func TestParentKilledWhileMakingTheCluster(t *testing.T) {
	t.Parallel()
	for _, stage := range []string{"PG_VERSION", "global/pg_control", "base/1/PG_VERSION"} {
		t.Run(filepath.Base(stage), func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			p := startParent(t, dir, nil)
			require.Eventually(t, func() bool {
				_, err := os.Stat(filepath.Join(dir, "data.tmp", stage))
				return err == nil
			}, patience, time.Millisecond)
			p.kill9(t)
			requireMarksAfterFirst(t, start(t, dir).URL())
			require.NoDirExists(t, filepath.Join(dir, "data.tmp"))
		})
	}
}

// An orphan that nobody told to stop, as an older kernel or a debugger leaves
// it, with a query running.
func TestOrphanIsStopped(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := start(t, dir)
	markOne(t, s.URL())
	orphan := startOrphan(t, dir, postmaster(t, dir), s.Close)
	busy := keepBusy(t, s.URL())
	s = start(t, dir)
	requireMarks(t, 1, s.URL())
	require.NotEqual(t, orphan, postmaster(t, dir))
	requireGone(t, orphan)
	requireGone(t, busy)
}

// startOrphan runs the program of the given server by hand on the folder,
// after that one was stopped, and returns the new process.
func startOrphan(t *testing.T, dir string, like int, stop func() error) int {
	t.Helper()
	exe, err := os.Readlink(filepath.Join("/proc", itoa(like), "exe"))
	require.NoError(t, err)
	var owner syscall.Stat_t
	require.NoError(t, syscall.Stat(filepath.Join(dir, "data"), &owner))
	require.NoError(t, stop())
	data, err := os.Open(filepath.Join(dir, "data"))
	require.NoError(t, err)
	defer func() { _ = data.Close() }() // read only
	socket, err := os.Open(filepath.Join(dir, "socket"))
	require.NoError(t, err)
	defer func() { _ = socket.Close() }() // read only
	cmd := exec.CommandContext(t.Context(), exe, "-D", "/proc/self/fd/3",
		"-c", "listen_addresses=", "-c", "unix_socket_directories=/proc/self/fd/4")
	cmd.Dir = "/"
	cmd.Env = []string{"LC_ALL=C.UTF-8"}
	cmd.ExtraFiles = []*os.File{data, socket}
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	if os.Geteuid() == 0 {
		cmd.SysProcAttr.Credential = &syscall.Credential{Uid: owner.Uid, Gid: owner.Gid}
	}
	require.NoError(t, cmd.Start())
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		_ = cmd.Wait() // so that it is not left as a zombie
	}()
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		<-ended
	})
	require.Eventually(t, func() bool {
		conn, err := pgx.Connect(t.Context(), "postgres:///netreel?user=netreel&host="+filepath.Join(dir, "socket"))
		if err != nil {
			return false
		}
		return conn.Close(t.Context()) == nil
	}, patience, 10*time.Millisecond)
	return cmd.Process.Pid
}

// The server is killed under a running program: it is started again, although
// a backend that noticed nothing is still at work.
func TestPostmasterKilled(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := start(t, dir)
	markOne(t, s.URL())
	busy := keepBusy(t, s.URL())
	first := postmaster(t, dir)
	require.NoError(t, syscall.Kill(first, syscall.SIGKILL))
	require.Eventually(t, func() bool {
		conn, err := pgx.Connect(t.Context(), s.URL())
		if err != nil {
			return false
		}
		return conn.Close(t.Context()) == nil
	}, patience, 10*time.Millisecond)
	require.NotEqual(t, first, postmaster(t, dir))
	requireGone(t, busy)
	requireMarks(t, 1, s.URL())
	markOne(t, s.URL())
	requireMarks(t, 2, s.URL())
}

func TestBothKilled(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	p := startParent(t, dir, nil)
	_, url := p.hear(t)
	markOne(t, url)
	busy := keepBusy(t, url)
	server := postmaster(t, dir)
	require.NoError(t, p.cmd.Process.Signal(syscall.SIGSTOP)) // so that it does not start another
	require.NoError(t, syscall.Kill(server, syscall.SIGKILL))
	p.kill9(t)
	require.True(t, alive(busy))
	requireMarks(t, 1, start(t, dir).URL())
	requireGone(t, busy)
}
