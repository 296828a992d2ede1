package local

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"

	"netreel/media/fault"
)

// process is a started program.
type process struct {
	pid    int
	stop   context.CancelFunc // tells it to stop
	exited chan struct{}      // closed when it is gone
	err    error              // how it ended; read after exited
}

// spawn starts cmd so that it stops when we are killed. The kernel ties that
// promise to the thread that started it, hence a thread of its own, which
// lives until the program is gone. When cmd's context ends, which stop brings
// about, the program gets SIGINT, after 30 s SIGQUIT, and after another 30 s
// it is killed.
func spawn(cmd *exec.Cmd, stop context.CancelFunc) (*process, error) {
	p := &process{stop: stop, exited: make(chan struct{})}
	cmd.WaitDelay = stopGently + stopFirmly
	cmd.Cancel = func() error {
		go func() {
			select {
			case <-p.exited:
			case <-time.After(stopGently):
				_ = cmd.Process.Signal(syscall.SIGQUIT) // it may be gone, as it should
			}
		}()
		return cmd.Process.Signal(syscall.SIGINT)
	}
	started := make(chan error)
	go func() {
		defer stop()
		runtime.LockOSThread() // never unlocked: the thread ends with this function
		err := cmd.Start()
		if err == nil {
			p.pid = cmd.Process.Pid
		}
		started <- err
		if err != nil {
			return
		}
		// A program that we told to stop and that ended well has not failed.
		if p.err = cmd.Wait(); cmd.ProcessState.Success() {
			p.err = nil
		}
		close(p.exited)
	}()
	return p, <-started
}

// takeLock opens the file at path and holds it locked until giveUp or until
// the program ends, however it ends.
func takeLock(path string) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fault.Wrap(err, fault.Invalid, "", "the data folder "+strconv.Quote(filepath.Dir(path))+" can't be written to: check its permissions")
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		_ = f.Close() // the lock's error is the one that matters
		return nil, fault.Wrap(err, fault.Conflict, "", "another netreel is using "+strconv.Quote(filepath.Dir(path))+": stop it first, or use another data folder")
	}
	return f, nil
}

// giveUp unlocks and closes what takeLock locked. Closing alone would leave it
// locked for as long as a program that is being started, anywhere in ours, still
// holds a copy of it from its fork.
func giveUp(lock *os.File) error {
	return errors.Join(syscall.Flock(int(lock.Fd()), syscall.LOCK_UN), lock.Close())
}

// stopLeftovers stops the server processes that an earlier run left on the
// data folder: a postmaster whose parent was killed, or backends whose
// postmaster was. While one of them lives no new server can start, and a
// connection might reach the old server instead of ours.
func stopLeftovers(ctx context.Context, data string, log *slog.Logger) error {
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	began := time.Now()
	told := map[int]syscall.Signal{}
	for left := leftovers(data); len(left) > 0; left = leftovers(data) {
		took := time.Since(began)
		if took > stopGently+stopFirmly {
			return fault.New(fault.Unavailable, "", fmt.Sprintf(
				"a PostgreSQL of an earlier run still uses %q and does not stop: end process %d and start again", data, left[0]))
		}
		for pid, signal := range farewells(left, postmasterPID(data), took > stopGently) {
			if told[pid] != signal {
				told[pid] = signal
				log.Warn("stopping a PostgreSQL process of an earlier run", "pid", pid, "signal", signal.String())
				_ = syscall.Kill(pid, signal) // it may be gone by now
			}
		}
		select {
		case <-tick.C:
		case <-ctx.Done():
			return fault.Wrap(context.Cause(ctx), fault.Unavailable, "", "stopped while waiting for an earlier PostgreSQL to end")
		}
	}
	return nil
}

// farewells says which of the processes gets which signal: a postmaster stops
// its backends itself; backends without one are told each.
func farewells(left []int, postmaster int, firmly bool) map[int]syscall.Signal {
	signals := map[int]syscall.Signal{}
	switch {
	case firmly:
		for _, pid := range left {
			signals[pid] = syscall.SIGQUIT
		}
	case slices.Contains(left, postmaster):
		signals[postmaster] = syscall.SIGINT
	default:
		for _, pid := range left {
			signals[pid] = syscall.SIGTERM
		}
	}
	return signals
}

// leftovers returns the ids of the PostgreSQL processes whose working folder is
// data, which is where each of its processes stays.
func leftovers(data string) []int {
	want, err := os.Stat(data)
	if err != nil {
		return nil
	}
	entries, err := os.ReadDir("/proc")
	if err != nil {
		return nil
	}
	var pids []int
	for _, e := range entries {
		pid, err := strconv.Atoi(e.Name())
		if err != nil {
			continue
		}
		at := filepath.Join("/proc", e.Name())
		exe, err := os.Readlink(filepath.Join(at, "exe"))
		// An upgrade under a running server leaves it on a deleted file.
		if err != nil || filepath.Base(strings.TrimSuffix(exe, " (deleted)")) != "postgres" {
			continue
		}
		if cwd, err := os.Stat(filepath.Join(at, "cwd")); err == nil && os.SameFile(cwd, want) {
			pids = append(pids, pid)
		}
	}
	return pids
}

// pidFile returns the lines of the cluster's postmaster.pid, none if there is
// no such file. Line 1 is the process id, line 8 the state.
func pidFile(data string) []string {
	b, err := os.ReadFile(filepath.Join(data, "postmaster.pid"))
	if err != nil {
		return nil
	}
	return strings.Split(string(b), "\n")
}

// postmasterPID returns the process that the pid file names, 0 if none; it may
// be long gone.
func postmasterPID(data string) int {
	lines := pidFile(data)
	if len(lines) == 0 {
		return 0
	}
	pid, err := strconv.Atoi(strings.TrimSpace(lines[0]))
	if err != nil {
		return 0
	}
	return pid
}

// dropClaims removes what makes PostgreSQL believe its folders in use when no
// server process is left on them: the socket with its lock, and a pid file that
// names a living process, which took over the number or is a dead server that
// nobody has waited for. Any other pid file PostgreSQL sees through by itself,
// and it looks in there for memory that is still attached.
func dropClaims(data, socket string) error {
	stale := []string{filepath.Join(socket, socketName), filepath.Join(socket, socketName+".lock")}
	if pid := postmasterPID(data); pid > 0 && !errors.Is(syscall.Kill(pid, 0), syscall.ESRCH) {
		stale = append(stale, filepath.Join(data, "postmaster.pid"))
	}
	for _, path := range stale {
		if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

// ready says whether the process pid, and no other, takes connections.
func ready(data string, pid int) bool {
	lines := pidFile(data)
	return len(lines) >= 8 && postmasterPID(data) == pid && strings.TrimSpace(lines[7]) == "ready"
}
