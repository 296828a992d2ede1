//go:build linux

package local_test

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"netreel/db/local"
	"netreel/media/fault"
)

// patience is how long a test waits for what must come; it only bounds a test
// that has failed.
const patience = 90 * time.Second

// parentVar, when set, makes the test binary a program that runs PostgreSQL on
// the folder it names, so that a test can kill it.
const parentVar = "NETREEL_TEST_PARENT"

func TestMain(m *testing.M) {
	if dir := os.Getenv(parentVar); dir != "" {
		os.Exit(actAsParent(dir))
	}
	os.Exit(m.Run())
}

// actAsParent starts PostgreSQL, says where, and runs until its input ends.
func actAsParent(dir string) int {
	s, err := local.Start(context.Background(), dir, slog.New(slog.NewTextHandler(os.Stderr, nil)))
	if err != nil {
		fmt.Println("failed", fault.KindOf(err), fault.Message(err))
		return 1
	}
	fmt.Println("ready", s.URL())
	if _, err := io.Copy(io.Discard, os.Stdin); err != nil {
		return 1
	}
	if err := s.Close(); err != nil {
		fmt.Println("failed", err)
		return 1
	}
	return 0
}

// parent is another process that runs PostgreSQL on a folder.
type parent struct {
	cmd   *exec.Cmd
	stdin io.Closer
	says  *bufio.Reader
}

// startParent runs this test binary as the given user (nil: as ours).
func startParent(t *testing.T, dir string, as *syscall.Credential) *parent {
	t.Helper()
	// Not by its path: another user may not be let into the folder it is in.
	cmd := exec.CommandContext(t.Context(), "/proc/self/exe")
	cmd.Env = append(os.Environ(), parentVar+"="+dir)
	cmd.Dir = "/"
	cmd.Stderr = t.Output()
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: as}
	stdin, err := cmd.StdinPipe()
	require.NoError(t, err)
	stdout, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		_ = cmd.Process.Kill() // most tests have ended it
		_ = cmd.Wait()
	})
	return &parent{cmd: cmd, stdin: stdin, says: bufio.NewReader(stdout)}
}

// hear returns the next line that the parent says, as its first word and the
// rest.
func (p *parent) hear(t *testing.T) (word, rest string) {
	t.Helper()
	line, err := p.says.ReadString('\n')
	require.NoError(t, err, "the parent said %q", line)
	word, rest, _ = strings.Cut(strings.TrimSpace(line), " ")
	return word, rest
}

// end asks the parent to end and waits until it and its PostgreSQL are gone: a
// killed one's PostgreSQL still writes for a while.
func (p *parent) end(t *testing.T) {
	t.Helper()
	require.NoError(t, p.stdin.Close())
	require.NoError(t, p.cmd.Wait())
}

// kill9 kills the parent as the kernel would when memory runs out.
func (p *parent) kill9(t *testing.T) {
	t.Helper()
	require.NoError(t, p.cmd.Process.Kill())
	_ = p.cmd.Wait() // "signal: killed" is what we asked for
}

func logOf(t *testing.T) *slog.Logger {
	t.Helper()
	return slog.New(slog.NewTextHandler(t.Output(), nil))
}

// start runs PostgreSQL on dir until the test ends.
func start(t *testing.T, dir string) *local.Server {
	t.Helper()
	s, err := local.Start(t.Context(), dir, logOf(t))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

func connect(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	require.NoError(t, err)
	t.Cleanup(func() { _ = conn.Close(context.Background()) }) // the server may be gone
	return conn
}

func ask[T any](t *testing.T, url, sql string) T {
	t.Helper()
	conn := connect(t, url)
	var v T
	require.NoError(t, conn.QueryRow(t.Context(), sql).Scan(&v))
	require.NoError(t, conn.Close(t.Context()))
	return v
}

func do(t *testing.T, url, sql string) {
	t.Helper()
	conn := connect(t, url)
	_, err := conn.Exec(t.Context(), sql)
	require.NoError(t, err)
	require.NoError(t, conn.Close(t.Context()))
}

// markOne leaves a row that must still be there whatever happens next.
func markOne(t *testing.T, url string) {
	t.Helper()
	do(t, url, `CREATE TABLE IF NOT EXISTS mark (n int); INSERT INTO mark VALUES (1)`)
}

func requireMarks(t *testing.T, want int, url string) {
	t.Helper()
	require.Equal(t, want, ask[int](t, url, `SELECT count(*)::int FROM mark`))
}

// keepBusy leaves a backend computing, which so does not notice that its
// postmaster is gone, and returns its process id.
func keepBusy(t *testing.T, url string) int {
	t.Helper()
	conn := connect(t, url)
	pid := int(conn.PgConn().PID())
	done := make(chan struct{})
	go func() {
		defer close(done)
		_, _ = conn.Exec(context.Background(), `SELECT count(*) FROM generate_series(1, 1e12)`) // it is cut off
	}()
	t.Cleanup(func() {
		_ = syscall.Kill(pid, syscall.SIGKILL)
		<-done
	})
	require.Eventually(t, func() bool {
		return ask[bool](t, url, `SELECT EXISTS (SELECT FROM pg_stat_activity WHERE state = 'active' AND pid = `+strconv.Itoa(pid)+`)`)
	}, patience, 10*time.Millisecond)
	return pid
}

func postmaster(t *testing.T, dir string) int {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dir, "data", "postmaster.pid"))
	require.NoError(t, err)
	pid, err := strconv.Atoi(strings.SplitN(string(b), "\n", 2)[0])
	require.NoError(t, err)
	return pid
}

func alive(pid int) bool {
	b, err := os.ReadFile(filepath.Join("/proc", strconv.Itoa(pid), "stat"))
	if err != nil {
		return false
	}
	_, after, _ := strings.Cut(string(b), ") ")
	return !strings.HasPrefix(after, "Z") // gone, only not yet waited for
}

func requireGone(t *testing.T, pid int) {
	t.Helper()
	require.Eventually(t, func() bool { return !alive(pid) }, patience, 10*time.Millisecond, "process %d", pid)
}
