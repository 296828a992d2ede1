package local

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
)

const (
	databaseName = "netreel"
	superuser    = "netreel"
	socketName   = ".s.PGSQL.5432"
	// A unix socket's address holds 108 bytes with the closing zero (unix(7)).
	longestSocket = 107
	largestLog    = 8 << 20
)

// cluster is a PostgreSQL data folder with all that is needed to run it.
type cluster struct {
	install install
	owner   owner
	data    string // the cluster's folder
	socket  string // the folder of its socket
	shortly bool   // socket is a folder of this run alone
	logFile *os.File
	logFrom int64 // where in the log the present run begins
	extra   []string
	log     *slog.Logger
	stopErr error // how the server ended when told to
}

// openCluster finds out how to run the cluster in dir and makes it if there is
// none. The caller holds the folder's lock, and closes the cluster.
func openCluster(ctx context.Context, dir string, log *slog.Logger, extra []string) (*cluster, error) {
	c := &cluster{data: filepath.Join(dir, "data"), extra: extra, log: log}
	var err error
	if c.owner, err = findOwner(c.data); err != nil {
		return nil, err
	}
	major, err := c.major()
	if err != nil {
		return nil, err
	}
	if c.install, err = findInstall(ctx, packaged, major); err != nil {
		return nil, err
	}
	if c.logFile, err = openLog(filepath.Join(dir, "postgres.log")); err != nil {
		return nil, fault.Wrap(err, fault.Invalid, "", "PostgreSQL's log can't be written to "+strconv.Quote(dir)+": check its permissions")
	}
	if err := c.prepare(ctx, dir, major == 0); err != nil {
		return nil, errors.Join(err, c.close())
	}
	return c, nil
}

func (c *cluster) prepare(ctx context.Context, dir string, anew bool) error {
	if anew {
		if err := c.create(ctx, dir); err != nil {
			return err
		}
	}
	if err := c.owner.claim(c.data); err != nil {
		return fault.Wrap(err, fault.Invalid, "", fmt.Sprintf("the folder %q can't be handed to PostgreSQL's user: check its permissions", c.data))
	}
	var err error
	c.socket = filepath.Join(dir, "socket")
	if len(filepath.Join(c.socket, socketName)) > longestSocket {
		c.shortly = true
		c.socket, err = os.MkdirTemp("", "netreel")
	}
	if err == nil {
		err = c.owner.makeDir(c.socket)
	}
	return fault.Wrap(err, fault.Invalid, "", "the folder for PostgreSQL's socket can't be made: check the data folder's permissions")
}

// major reads the version that the cluster was made by, 0 if there is none. A
// folder that is there and has no version is somebody else's: a cluster gets
// its name only when it is complete.
func (c *cluster) major() (int, error) {
	if _, err := os.Stat(c.data); errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	b, err := os.ReadFile(filepath.Join(c.data, "PG_VERSION"))
	if err == nil {
		var major int
		if major, err = strconv.Atoi(strings.TrimSpace(string(b))); err == nil {
			return major, nil
		}
	}
	return 0, fault.Wrap(err, fault.Invalid, "", fmt.Sprintf(
		"the folder %q is there, but it can't be read as PostgreSQL's data: check its permissions, or move it away and start again", c.data))
}

// create makes the cluster beside its place and moves it there when complete,
// so that a start that was cut short leaves nothing that looks like one.
func (c *cluster) create(ctx context.Context, dir string) error {
	c.log.Info("making the database's folder", "dir", c.data, "postgresql", c.install.major)
	began := c.data + ".tmp"
	if err := removeUnfinished(ctx, began, c.log); err != nil {
		return fault.Wrap(err, fault.Invalid, "", fmt.Sprintf("what an interrupted start left at %q can't be removed: remove it and start again", began))
	}
	if err := c.owner.makeDir(began); err != nil {
		return fault.Wrap(err, fault.Invalid, "", fmt.Sprintf("the folder %q can't be made: check the data folder's permissions", began))
	}
	// Everybody who can enter the socket's folder is let in: that is the owner,
	// who can read the files anyway, and root.
	args := []string{"-U", superuser, "-E", "UTF8", "--locale=C.UTF-8", "--auth-local=trust", "--auth-host=reject", "--data-checksums"}
	if len(c.extra) > 0 {
		args = append(args, "--no-sync")
	}
	p, err := c.run(ctx, "initdb", args, began)
	if err == nil {
		<-p.exited
		err = p.err
	}
	if err == nil {
		err = ctx.Err()
	}
	if err != nil {
		return fault.Wrap(err, fault.Unavailable, "", "PostgreSQL could not make its data folder: "+c.said())
	}
	if err := os.Rename(began, c.data); err != nil {
		return fault.Wrap(err, fault.Internal, "", "the new database could not be moved to its place: start again")
	}
	return syncDir(dir)
}

// removeUnfinished removes a cluster whose making was cut short. Its makers may
// be dying yet, and write into it while it is removed.
func removeUnfinished(ctx context.Context, path string, log *slog.Logger) error {
	if err := stopLeftovers(ctx, path, log); err != nil {
		return err
	}
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	deadline := time.After(stopGently)
	for {
		err := os.RemoveAll(path)
		if err == nil {
			return nil
		}
		select {
		case <-tick.C:
		case <-deadline:
			return err
		case <-ctx.Done():
			return errors.Join(context.Cause(ctx), err)
		}
	}
}

// up starts the server and returns when it takes connections. ctx bounds the
// wait; the server itself runs until life ends.
func (c *cluster) up(ctx, life context.Context) (*process, error) {
	if err := stopLeftovers(ctx, c.data, c.log); err != nil {
		return nil, err
	}
	if err := dropClaims(c.data, c.socket); err != nil {
		return nil, fault.Wrap(err, fault.Unavailable, "", "what an earlier PostgreSQL left in its folder can't be removed: check the folder's permissions")
	}
	settings := append([]string{
		"listen_addresses=", // no TCP
		"port=5432",         // the socket's name
		"unix_socket_directories=" + handlePath(1),
		"unix_socket_permissions=0700",
		"timezone=UTC", "log_timezone=UTC",
		"logging_collector=off", // the log is ours
	}, c.extra...)
	var args []string
	for _, s := range settings {
		args = append(args, "-c", s)
	}
	p, err := c.run(life, "postgres", args, c.data, c.socket)
	if err != nil {
		return nil, fault.Wrap(err, fault.Unavailable, "", "PostgreSQL could not be started")
	}
	if err := c.wait(ctx, p); err != nil {
		p.stop()
		<-p.exited
		return nil, err
	}
	return p, nil
}

// wait returns when the server p takes connections, which after a crash is
// when it has replayed its log, however long that takes.
func (c *cluster) wait(ctx context.Context, p *process) error {
	look := time.NewTicker(10 * time.Millisecond)
	defer look.Stop()
	slow := time.NewTicker(10 * time.Second)
	defer slow.Stop()
	for !ready(c.data, p.pid) {
		select {
		case <-look.C:
		case <-slow.C:
			c.log.Info("PostgreSQL is still starting", "said", c.said())
		case <-p.exited:
			return fault.Wrap(errors.Join(errEnded, p.err), fault.Unavailable, "", "PostgreSQL could not be started: "+c.said())
		case <-ctx.Done():
			return fault.Wrap(context.Cause(ctx), fault.Unavailable, "", "stopped while PostgreSQL was starting")
		}
	}
	return nil
}

var errEnded = errors.New("it ended before it took connections")

// run starts one of PostgreSQL's programs on the data folder. Folders are
// handed down open, the data folder first, and named by their handles: see the
// package's comment.
func (c *cluster) run(life context.Context, program string, args []string, folders ...string) (*process, error) {
	if end, err := c.logFile.Seek(0, 2); err == nil {
		c.logFrom = end
	}
	life, stop := context.WithCancel(life)
	cmd := exec.CommandContext(life, filepath.Join(c.install.dir, program), append([]string{"-D", handlePath(0)}, args...)...)
	cmd.Dir = "/"
	// Nothing of our environment: PG… variables would change what it does.
	cmd.Env = []string{"LC_ALL=C.UTF-8", "TZ=UTC", "PATH=/usr/local/bin:/usr/bin:/bin"}
	// A file, not a writer: Wait would wait until every backend has closed it.
	cmd.Stdout, cmd.Stderr = c.logFile, c.logFile
	cmd.SysProcAttr = &syscall.SysProcAttr{
		Setpgid:    true, // a Ctrl-C is for us: we stop the server when we are done with it
		Pdeathsig:  syscall.SIGINT,
		Credential: c.owner.credential(),
	}
	for _, folder := range folders {
		f, err := os.Open(folder)
		if err != nil {
			stop()
			return nil, err
		}
		defer func() { _ = f.Close() }() // read only; the child has its own
		cmd.ExtraFiles = append(cmd.ExtraFiles, f)
	}
	return spawn(cmd, stop)
}

// handlePath names the n-th folder handed to a child: its handles begin at 3.
func handlePath(n int) string { return "/proc/self/fd/" + strconv.Itoa(3+n) }

// url returns the address of a database of this cluster.
func (c *cluster) url(database string) string {
	q := url.Values{"host": {c.socket}, "port": {"5432"}, "user": {superuser}, "sslmode": {"disable"}}
	return (&url.URL{Scheme: "postgres", Path: "/" + database, RawQuery: q.Encode()}).String()
}

// close lets go of what openCluster took; the server is gone by now.
func (c *cluster) close() error {
	err := c.stopErr
	if c.shortly {
		err = errors.Join(err, os.RemoveAll(c.socket))
	}
	return errors.Join(err, c.logFile.Close())
}

// ensureDatabase makes the database netreel if the cluster has none: a start
// may have been cut short between making the one and the other.
func ensureDatabase(ctx context.Context, url string) error {
	const failed = "the database could not be made: see postgres.log in the data folder"
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return fault.Wrap(err, fault.Unavailable, "", failed)
	}
	defer func() { _ = conn.Close(context.WithoutCancel(ctx)) }() // nothing is open on it
	var there bool
	err = conn.QueryRow(ctx, `SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)`, databaseName).Scan(&there)
	if err == nil && !there {
		_, err = conn.Exec(ctx, `CREATE DATABASE `+databaseName)
	}
	return fault.Wrap(err, fault.Unavailable, "", failed)
}
