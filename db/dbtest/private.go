package dbtest

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"syscall"

	"github.com/jackc/pgx/v5"

	"netreel/db/local"
)

// The private servers live in a folder of the user's among the temporary
// files, in numbered places, each with a PostgreSQL's data. A test process
// takes the first place that nobody uses and gives it back by ending, however
// it ends: the lock is the kernel's, and so is the promise to stop the server.
// So there are as many places as test processes ever ran side by side, and the
// cluster and the template in them serve again and again.

// keptDatabases is how many databases of failed or killed tests a place keeps.
const keptDatabases = 20

func privateServer(ctx context.Context, template string) (*server, error) {
	dir, lock, err := takePlace()
	if err != nil {
		return nil, fmt.Errorf("dbtest: %w", err)
	}
	log := slog.New(slog.DiscardHandler)
	running, err := local.StartForTests(ctx, dir, log)
	if err != nil {
		// What is kept for speed alone is not worth a repair.
		if err := empty(dir); err != nil {
			return nil, fmt.Errorf("dbtest: %w", err)
		}
		if running, err = local.StartForTests(ctx, dir, log); err != nil {
			return nil, err
		}
	}
	u, err := url.Parse(running.URL())
	if err != nil {
		return nil, fmt.Errorf("dbtest: %w", err)
	}
	u.Path = "/postgres"
	s := &server{admin: *u, where: "the private server of " + dir, template: template, place: lock}
	return s, s.tidy(ctx, keptDatabases)
}

// takePlace locks the first free place for this process and returns its folder
// and the lock, which lasts until it is closed. A cluster from before the
// machine started is emptied out: these servers leave it to the system when
// their files reach the disk.
func takePlace() (dir string, lock *os.File, err error) {
	root := filepath.Join(os.TempDir(), fmt.Sprintf("netreel-dbtest-%d", os.Geteuid()))
	if err := os.Mkdir(root, 0o700); err != nil && !errors.Is(err, os.ErrExist) {
		return "", nil, err
	}
	var at syscall.Stat_t
	if err := syscall.Lstat(root, &at); err != nil {
		return "", nil, err
	}
	if at.Mode&syscall.S_IFMT != syscall.S_IFDIR || int(at.Uid) != os.Geteuid() || at.Mode&0o077 != 0 {
		return "", nil, fmt.Errorf("%s is not a folder of this user alone: remove it, or set TMPDIR to another folder", root)
	}
	for n := 1; lock == nil; n++ {
		dir = filepath.Join(root, strconv.Itoa(n))
		if lock, err = tryLock(dir + ".lock"); err != nil {
			return "", nil, err
		}
	}
	return dir, lock, forThisBoot(dir)
}

// tryLock returns the locked file, nil if another process has it.
func tryLock(path string) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, err
	}
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return nil, f.Close()
	}
	return f, err
}

// stampName is the file that says since which start of the machine a place is
// filled.
const stampName = "boot"

func bootID() ([]byte, error) { return os.ReadFile("/proc/sys/kernel/random/boot_id") } // random(4)

// forThisBoot empties the place unless it was filled since the machine started.
func forThisBoot(dir string) error {
	now, err := bootID()
	if err != nil {
		return err
	}
	if then, err := os.ReadFile(filepath.Join(dir, stampName)); err == nil && string(then) == string(now) {
		return nil
	}
	return empty(dir)
}

// empty makes the place as new.
func empty(dir string) error {
	now, err := bootID()
	if err != nil {
		return err
	}
	if err := os.RemoveAll(dir); err != nil {
		return err
	}
	if err := os.Mkdir(dir, 0o700); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, stampName), now, 0o600)
}

// tidy drops the databases that failed and killed tests left, but for the
// newest few, and the templates of other states of the migrations.
func (s *server) tidy(ctx context.Context, keep int) error {
	conn, err := pgx.Connect(ctx, s.admin.String())
	if err != nil {
		return fmt.Errorf("dbtest: %w", err)
	}
	defer func() { _ = conn.Close(ctx) }() // nothing is open on it
	kept, err := databases(ctx, conn, testPrefix)
	if err != nil {
		return err
	}
	for _, name := range kept[min(len(kept), keep):] {
		if err := s.drop(ctx, name); err != nil {
			return err
		}
	}
	templates, err := databases(ctx, conn, templatePrefix)
	if err != nil {
		return err
	}
	for _, name := range templates {
		if name == s.template {
			continue
		}
		if err := s.exec(ctx, `ALTER DATABASE `+pgx.Identifier{name}.Sanitize()+` WITH is_template false`); err != nil {
			return err
		}
		if err := s.drop(ctx, name); err != nil {
			return err
		}
	}
	return nil
}

// databases lists the databases whose names begin so, the newest first.
func databases(ctx context.Context, conn *pgx.Conn, prefix string) ([]string, error) {
	rows, err := conn.Query(ctx, `SELECT datname FROM pg_database WHERE starts_with(datname, $1) ORDER BY datname DESC`, prefix)
	if err != nil {
		return nil, fmt.Errorf("dbtest: %w", err)
	}
	names, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, fmt.Errorf("dbtest: %w", err)
	}
	return names, nil
}
