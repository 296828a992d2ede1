//go:build linux

package local_test

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"netreel/db/local"
	"netreel/media/fault"
)

func TestDataOutlastsAStop(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := start(t, dir)
	pid := postmaster(t, dir)
	markOne(t, s.URL())
	require.NoError(t, s.Close())
	require.NoError(t, s.Close(), "a second Close")
	require.False(t, alive(pid))
	require.NoFileExists(t, filepath.Join(dir, "data", "postmaster.pid"))

	s = start(t, dir)
	requireMarks(t, 1, s.URL())
}

func TestSettings(t *testing.T) {
	t.Parallel()
	durable := map[string]string{
		"listen_addresses": "", "fsync": "on", "synchronous_commit": "on", "full_page_writes": "on",
		"data_checksums": "on", "server_encoding": "UTF8", "TimeZone": "UTC",
	}
	quick := map[string]string{
		"listen_addresses": "", "fsync": "off", "synchronous_commit": "off", "full_page_writes": "off",
		"server_encoding": "UTF8", "TimeZone": "UTC",
	}
	s := start(t, t.TempDir())
	forTests, err := local.StartForTests(t.Context(), t.TempDir(), logOf(t))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, forTests.Close()) })
	for _, c := range []struct {
		name string
		url  string
		want map[string]string
	}{
		{"for keeps", s.URL(), durable},
		{"for tests", forTests.URL(), quick},
	} {
		for setting, want := range c.want {
			require.Equal(t, want, ask[string](t, c.url, "SHOW "+setting), "%s: %s", c.name, setting)
		}
	}
}

// Whoever can enter the socket's folder is trusted, so nobody else may.
func TestOthersAreKeptOut(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := start(t, dir)
	for _, name := range []string{"data", "socket"} {
		at, err := os.Stat(filepath.Join(dir, name))
		require.NoError(t, err)
		require.Equal(t, os.FileMode(0o700), at.Mode().Perm(), name)
	}
	_, err := pgx.Connect(t.Context(), strings.Replace(s.URL(), "user=netreel", "user=nobody", 1))
	require.ErrorContains(t, err, "28000", "a role that does not exist")
}

func TestCloseRollsBackWhatIsInProgress(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := start(t, dir)
	markOne(t, s.URL())
	tx, err := connect(t, s.URL()).Begin(t.Context())
	require.NoError(t, err)
	_, err = tx.Exec(t.Context(), `INSERT INTO mark VALUES (2)`)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	require.Error(t, tx.Commit(t.Context()))
	requireMarks(t, 1, start(t, dir).URL())
}

func TestOneProgramAtATime(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := start(t, dir)
	_, err := local.Start(t.Context(), dir, logOf(t))
	require.Equal(t, fault.Conflict, fault.KindOf(err))
	require.Contains(t, fault.Message(err), "another netreel")
	require.Equal(t, 1, ask[int](t, s.URL(), `SELECT 1`), "the first one goes on")
}

func TestLongPath(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), strings.Repeat("long", 30))
	s := start(t, dir)
	markOne(t, s.URL())
	config, err := pgx.ParseConfig(s.URL())
	require.NoError(t, err)
	require.NotContains(t, config.Host, dir)
	require.NoError(t, s.Close())
	require.NoDirExists(t, config.Host)
}

// The variables of libpq's environment (PostgreSQL documentation, section
// "Environment Variables" of libpq) must not lead us elsewhere.
func TestEnvironmentDoesNotBendTheAddress(t *testing.T) {
	for name, value := range map[string]string{
		"PGHOST": "192.0.2.1", "PGPORT": "1", "PGUSER": "somebody", "PGDATABASE": "elsewhere",
		"PGDATA": "/nowhere", "PGSSLMODE": "require", "LC_ALL": "xx_XX",
	} {
		t.Setenv(name, value)
	}
	require.Equal(t, "netreel", ask[string](t, start(t, t.TempDir()).URL(), `SELECT current_database()`))
}

func TestCancelledStartLeavesNothingRunning(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := local.Start(ctx, dir, logOf(t))
	require.ErrorIs(t, err, context.Canceled)
	require.NoDirExists(t, filepath.Join(dir, "data"))
	requireMarksAfterFirst(t, start(t, dir).URL())
}

func requireMarksAfterFirst(t *testing.T, url string) {
	t.Helper()
	markOne(t, url)
	requireMarks(t, 1, url)
}

func TestBadFolders(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		file string // what is in the folder: its name and text
		text string
		kind fault.Kind
		says string
	}{
		{"another version's data", "data/PG_VERSION", "12\n", fault.Unsupported, "PostgreSQL 12"},
		{"something else's data", "data/diary.txt", "dear", fault.Invalid, "move it away"},
		{"a version that is none", "data/PG_VERSION", "new\n", fault.Invalid, "can't be read"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			write(t, filepath.Join(dir, c.file), c.text)
			before := listing(t, dir)
			_, err := local.Start(t.Context(), dir, logOf(t))
			require.Equal(t, c.kind, fault.KindOf(err), "%v", err)
			require.Contains(t, fault.Message(err), c.says)
			require.Subset(t, listing(t, dir), before, "nothing is wiped")
		})
	}
}

func TestFileInTheFoldersPlace(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "pg")
	write(t, path, "")
	_, err := local.Start(t.Context(), path, logOf(t))
	require.Equal(t, fault.Invalid, fault.KindOf(err))
	require.Contains(t, fault.Message(err), "can't be made")
}

// What PostgreSQL has against starting is in the message.
func TestSettingThatPostgreSQLRefuses(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := start(t, dir)
	markOne(t, s.URL())
	require.NoError(t, s.Close())
	config := filepath.Join(dir, "data", "postgresql.auto.conf")
	was, err := os.ReadFile(config)
	require.NoError(t, err)
	write(t, config, "shared_buffers = plenty\n")
	_, err = local.Start(t.Context(), dir, logOf(t))
	require.Equal(t, fault.Unavailable, fault.KindOf(err))
	require.Contains(t, fault.Message(err), "shared_buffers")
	write(t, config, string(was))
	requireMarks(t, 1, start(t, dir).URL())
}

func write(t *testing.T, path, text string) {
	t.Helper()
	require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o700))
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
}

// listing names all that is under dir, but for what a server writes as it
// runs.
func listing(t *testing.T, dir string) []string {
	t.Helper()
	var names []string
	require.NoError(t, filepath.WalkDir(dir, func(path string, _ os.DirEntry, err error) error {
		names = append(names, path)
		return err
	}))
	return names
}

func TestFolderWithLoosePermissions(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := start(t, dir)
	markOne(t, s.URL())
	require.NoError(t, s.Close())
	require.NoError(t, os.Chmod(filepath.Join(dir, "data"), 0o755))
	requireMarks(t, 1, start(t, dir).URL())
}

func TestStalePIDFile(t *testing.T) {
	t.Parallel()
	gone := exec.CommandContext(t.Context(), "true")
	require.NoError(t, gone.Run())
	other := t.TempDir()
	start(t, other)
	dir := t.TempDir()
	s := start(t, dir)
	markOne(t, s.URL())
	path := filepath.Join(dir, "data", "postmaster.pid")
	was, err := os.ReadFile(path)
	require.NoError(t, err)
	owner := ownerOf(t, path)
	require.NoError(t, s.Close())
	_, rest, _ := strings.Cut(string(was), "\n")
	for name, pid := range map[string]int{
		"a process that is gone":                  gone.Process.Pid,
		"the first process":                       1,
		"a living process that is not PostgreSQL": os.Getpid(),
		"a PostgreSQL on another folder":          postmaster(t, other),
		"a process that nobody waited for":        zombie(t),
	} {
		require.NoError(t, os.WriteFile(path, []byte(strconv.Itoa(pid)+"\n"+rest), 0o600))
		require.NoError(t, os.Chown(path, int(owner), -1))
		s, err := local.Start(t.Context(), dir, logOf(t))
		require.NoError(t, err, name)
		requireMarks(t, 1, s.URL())
		require.NoError(t, s.Close(), name)
	}
}

// zombie returns the id of a process that has ended and is not waited for
// until the test's end.
func zombie(t *testing.T) int {
	t.Helper()
	// The test's context ends before its cleanups, and would then be what Wait complains of.
	cmd := exec.CommandContext(context.WithoutCancel(t.Context()), "true")
	require.NoError(t, cmd.Start())
	t.Cleanup(func() { require.NoError(t, cmd.Wait()) })
	requireGone(t, cmd.Process.Pid)
	return cmd.Process.Pid
}
