package main

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"fmt"
	"io"
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
)

// patience is how long a test waits for what must come; it only bounds a test
// that has failed.
const patience = 90 * time.Second

// until waits until something has become so.
func until(t *testing.T, what string, so func() bool) {
	t.Helper()
	require.Eventually(t, so, patience, 5*time.Millisecond, "waiting for: %s", what)
}

// process is the program as a process of its own on a data folder.
type process struct {
	t     *testing.T
	data  string
	tools string // a folder before all others on its PATH, see slowTools
	addr  string // where it listens; "": wherever there is room
	cmd   *exec.Cmd
	says  *bufio.Reader // what it prints
}

func newProcess(t *testing.T) *process {
	t.Helper()
	p := &process{t: t, data: filepath.Join(t.TempDir(), "data"), tools: slowTools(t)}
	t.Cleanup(func() {
		if p.cmd != nil {
			p.kill()
		}
		until(t, "no PostgreSQL writes to the folder that is about to be removed", func() bool { return len(p.running("postgres", "")) == 0 })
	})
	return p
}

// start runs a command of the program on the folder.
func (p *process) start(args ...string) {
	p.t.Helper()
	cmd := exec.CommandContext(context.Background(), "/proc/self/exe", append(args, "--data", p.data, "--listen", cmp.Or(p.addr, "127.0.0.1:0"), "--tools", "1")...)
	cmd.Env = append(os.Environ(), asProgram+"=1", "DATABASE_URL=", "PATH="+p.tools+":"+os.Getenv("PATH"))
	cmd.Stderr = p.t.Output()
	out, err := cmd.StdoutPipe()
	require.NoError(p.t, err)
	require.NoError(p.t, cmd.Start())
	p.cmd, p.says = cmd, bufio.NewReader(out)
}

// hears reads what the program prints up to the next line that has the words,
// and returns the line's last word.
func (p *process) hears(words string) string {
	p.t.Helper()
	for {
		line, err := p.says.ReadString('\n')
		require.NoError(p.t, err, "it ended without saying %q", words)
		if strings.Contains(line, words) {
			f := strings.Fields(line)
			return f[len(f)-1]
		}
	}
}

// kill ends the program as the kernel would when memory runs out, and waits
// until the tools that it ran are gone too.
func (p *process) kill() {
	p.t.Helper()
	_ = p.cmd.Process.Kill() // it may have ended
	_, _ = io.Copy(io.Discard, p.says)
	_ = p.cmd.Wait() // "signal: killed" is what we asked for
	p.cmd = nil
	until(p.t, "no tool goes on without the program", func() bool { return len(p.running("ffmpeg", "")) == 0 })
}

// killBoth kills the private PostgreSQL as well, so that it can write nothing
// down: what was not committed is lost, and its orphans are still there when
// the program starts again.
func (p *process) killBoth() {
	p.t.Helper()
	require.NoError(p.t, p.cmd.Process.Signal(syscall.SIGSTOP), "so that it does not start another")
	require.NoError(p.t, syscall.Kill(p.postmaster(), syscall.SIGKILL))
	p.kill()
}

// postmaster is the process id of the private PostgreSQL.
func (p *process) postmaster() int {
	p.t.Helper()
	// The cluster's pid file, line 1 (PostgreSQL documentation, "Database File Layout").
	b, err := os.ReadFile(filepath.Join(p.data, "postgres", "data", "postmaster.pid"))
	require.NoError(p.t, err)
	pid, err := strconv.Atoi(strings.SplitN(string(b), "\n", 2)[0])
	require.NoError(p.t, err)
	return pid
}

// database connects to the program's private PostgreSQL.
func (p *process) database() *pgx.Conn {
	p.t.Helper()
	note, err := runningServer(p.data)
	require.NoError(p.t, err)
	conn, err := pgx.Connect(p.t.Context(), note.Database)
	require.NoError(p.t, err)
	p.t.Cleanup(func() { _ = conn.Close(context.Background()) }) // the server may be gone
	return conn
}

// running gives the command lines (their parts end with a zero) of the living
// processes of a program that work on the data folder, it being in their
// command line or they in it, and whose command line has a word.
func (p *process) running(name, word string) (lines []string) {
	all, err := os.ReadDir("/proc")
	require.NoError(p.t, err)
	for _, e := range all {
		at := filepath.Join("/proc", e.Name())
		exe, err := os.Readlink(filepath.Join(at, "exe")) // a zombie has none
		if err != nil || filepath.Base(exe) != name {
			continue
		}
		line, _ := os.ReadFile(filepath.Join(at, "cmdline")) // it may have ended
		cwd, _ := os.Readlink(filepath.Join(at, "cwd"))
		if (bytes.Contains(line, []byte(p.data)) || strings.HasPrefix(cwd, p.data)) && bytes.Contains(line, []byte(word)) {
			lines = append(lines, string(line))
		}
	}
	return lines
}

// slowTools makes a folder with an ffmpeg that runs the real one. Where a
// file there, in the folder "slow", is named by a word of its command line, it
// reads films no faster than they play (-re, ffmpeg documentation), so that a
// test finds it at work.
func slowTools(t *testing.T) string {
	t.Helper()
	ffmpeg, err := exec.LookPath("ffmpeg")
	require.NoError(t, err)
	dir := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(dir, "slow"), 0o700))
	script := fmt.Sprintf(`#!/bin/sh
slow=
for w in '%s'/slow/*; do
	case "$*" in *"${w##*/}"*) slow=1 ;; esac
done
for a; do
	shift
	[ "$slow" ] && [ "$a" = -i ] && set -- "$@" -re
	set -- "$@" "$a"
done
exec '%s' "$@"
`, dir, ffmpeg)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "ffmpeg"), []byte(script), 0o700))
	return dir
}

// slow slows the tools that are started from now on with a word on their
// command line.
func (p *process) slow(word string) {
	p.t.Helper()
	require.NoError(p.t, os.WriteFile(filepath.Join(p.tools, "slow", word), nil, 0o600))
}

// fast takes that back.
func (p *process) fast(word string) {
	p.t.Helper()
	require.NoError(p.t, os.Remove(filepath.Join(p.tools, "slow", word)))
}
