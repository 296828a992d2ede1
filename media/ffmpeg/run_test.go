package ffmpeg

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/fault"
)

// roles are the bad tools that the test binary can be.
var roles = map[string]func(args []string) int{
	"succeeds": func([]string) int {
		fmt.Print("all is well")
		return 0
	},
	"old": func([]string) int {
		fmt.Println("ffmpeg version 4.4.2-0ubuntu0.22.04.1 Copyright (c) 2000-2021 the FFmpeg developers")
		return 0
	},
	"fails": func([]string) int {
		fmt.Fprintln(os.Stderr, "the cause")
		return 3
	},
	"floods": func([]string) int {
		for range 1000 {
			fmt.Fprintln(os.Stderr, strings.Repeat("noise ", 2000))
		}
		fmt.Fprintln(os.Stderr, "the cause")
		return 1
	},
	"disk-full": func([]string) int {
		fmt.Fprintln(os.Stderr, "av_interleaved_write_frame(): No space left on device")
		return 1
	},
	"hangs": func(args []string) int {
		report(args[0])()
		return 0
	},
	// A cancelled ffmpeg may well end with 0.
	"ends-cleanly-when-told": func(args []string) int {
		told := make(chan os.Signal, 1)
		signal.Notify(told, syscall.SIGTERM)
		report(args[0])
		<-told
		return 0
	},
	"ignores-sigterm": func(args []string) int {
		signal.Ignore(syscall.SIGTERM)
		report(args[0])()
		return 0
	},
	// The child keeps the tool's pipes open after the tool is gone.
	"leaves-a-child": func(args []string) int {
		child := exec.Command(filepath.Join(filepath.Dir(os.Args[0]), "ignores-sigterm"), args[0])
		child.Stdout, child.Stderr = os.Stdout, os.Stderr
		if err := child.Run(); err != nil {
			return 1
		}
		return 0
	},
	"talks-without-end": func([]string) int {
		for {
			if _, err := os.Stdout.Write(make([]byte, 1<<16)); err != nil {
				return 1
			}
		}
	},
	"does-not-listen": func([]string) int {
		fmt.Fprintln(os.Stderr, "the cause")
		return 1
	},
	"supervisor": func(args []string) int {
		log := slog.New(slog.DiscardHandler)
		tool := &Tool{log: log, grace: time.Minute}
		_ = tool.supervise(context.Background(), "test", filepath.Join(filepath.Dir(os.Args[0]), "ignores-sigterm"), process{args: args})
		return 0
	},
}

// report connects to a socket and keeps the connection for as long as the
// process lives. It returns a function that waits for ever.
func report(socket string) (wait func()) {
	line, err := net.Dial("unix", socket)
	if err != nil {
		os.Exit(9)
	}
	return func() { _, _ = line.Read(make([]byte, 1)) }
}

// stage makes all the roles startable and a socket to which they report.
func stage(t *testing.T) (dir, socket string, listener net.Listener) {
	t.Helper()
	dir = t.TempDir()
	self, err := os.Executable()
	require.NoError(t, err)
	for name := range roles {
		require.NoError(t, os.Symlink(self, filepath.Join(dir, name)))
	}
	short, err := os.MkdirTemp("", "s") // the paths of sockets are limited to 107 bytes
	require.NoError(t, err)
	t.Cleanup(func() { _ = os.RemoveAll(short) })
	socket = filepath.Join(short, "s")
	listener, err = net.Listen("unix", socket)
	require.NoError(t, err)
	t.Cleanup(func() { _ = listener.Close() })
	return dir, socket, listener
}

func badTool(t *testing.T) *Tool { return &Tool{log: testLog(t), grace: 50 * time.Millisecond} }

func TestSuperviseFailures(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		role string
		kind fault.Kind
		says string // to the log
	}{
		{"fails", fault.Internal, "exit status 3: the cause"},
		{"floods", fault.Internal, "the cause"},
		{"disk-full", fault.Unavailable, "No space left"},
		{"not-there", fault.Unavailable, "no such file"},
	} {
		t.Run(c.role, func(t *testing.T) {
			t.Parallel()
			dir, _, _ := stage(t)
			err := badTool(t).supervise(t.Context(), "test.Op", filepath.Join(dir, c.role), process{})
			require.Error(t, err)
			assert.Equal(t, c.kind, fault.KindOf(err))
			assert.ErrorContains(t, err, c.says)
			assert.ErrorContains(t, err, "test.Op")
			assert.NotEmpty(t, fault.Message(err))
			assert.NotContains(t, fault.Message(err), c.says, "the tool's words are for the log")
			assert.Less(t, len(err.Error()), tailSize+1000, "only the tail is kept")
		})
	}
}

func TestSuperviseSuccess(t *testing.T) {
	t.Parallel()
	dir, _, _ := stage(t)
	out, err := badTool(t).capture(t.Context(), "test.Op", filepath.Join(dir, "succeeds"))
	require.NoError(t, err)
	assert.Equal(t, "all is well", string(out))
}

// TestSuperviseCancel: whatever the tool does when it is told to stop, the run
// fails with the reason why, and nothing of the tool is left.
func TestSuperviseCancel(t *testing.T) {
	t.Parallel()
	for _, role := range []string{"hangs", "ends-cleanly-when-told", "ignores-sigterm", "leaves-a-child"} {
		t.Run(role, func(t *testing.T) {
			t.Parallel()
			dir, socket, listener := stage(t)
			ctx, cancel := context.WithCancelCause(t.Context())
			enough := errors.New("enough")
			ended := make(chan error, 1)
			go func() {
				ended <- badTool(t).supervise(ctx, "test.Op", filepath.Join(dir, role), process{
					args:   []string{socket},
					stdout: func(r io.Reader) error { _, err := io.Copy(io.Discard, r); return err },
				})
			}()
			line, err := listener.Accept()
			require.NoError(t, err)
			cancel(enough)
			assert.ErrorIs(t, <-ended, enough)
			_, err = line.Read(make([]byte, 1))
			assert.ErrorIs(t, err, io.EOF, "the process is gone")
		})
	}
}

// TestSuperviseAfterKill: when the program itself is killed, the kernel ends
// its tools.
func TestSuperviseAfterKill(t *testing.T) {
	t.Parallel()
	dir, socket, listener := stage(t)
	parent := exec.CommandContext(t.Context(), filepath.Join(dir, "supervisor"), socket)
	require.NoError(t, parent.Start())
	line, err := listener.Accept()
	require.NoError(t, err)
	require.NoError(t, parent.Process.Kill())
	_, err = line.Read(make([]byte, 1))
	assert.ErrorIs(t, err, io.EOF, "the tool is gone")
	assert.Error(t, parent.Wait())
}

// TestSuperviseOwnFault: an error of ours stops the tool and comes back.
func TestSuperviseOwnFault(t *testing.T) {
	t.Parallel()
	dir, _, _ := stage(t)
	enough := errors.New("enough")
	err := badTool(t).supervise(t.Context(), "test.Op", filepath.Join(dir, "talks-without-end"), process{
		stdout: func(r io.Reader) error {
			_, err := io.CopyN(io.Discard, r, 1<<20)
			return errors.Join(err, enough)
		},
	})
	assert.ErrorIs(t, err, enough)
}

// TestSuperviseDeaf: a tool that ends before it has read everything is judged
// by its exit code, not by our broken pipe.
func TestSuperviseDeaf(t *testing.T) {
	t.Parallel()
	dir, _, _ := stage(t)
	err := badTool(t).supervise(t.Context(), "test.Op", filepath.Join(dir, "does-not-listen"), process{
		stdin: func(w io.Writer) error {
			for {
				if _, err := w.Write(make([]byte, 1<<16)); err != nil {
					return fmt.Errorf("writing: %w", err)
				}
			}
		},
	})
	assert.ErrorContains(t, err, "the cause")
	assert.NotErrorIs(t, err, syscall.EPIPE)
}

func TestTail(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		pieces []string
		want   string
	}{
		{"nothing", nil, ""},
		{"short", []string{" a", "b\n"}, "ab"},
		{"one long piece", []string{strings.Repeat("x", 3*tailSize) + "end"}, "... " + strings.Repeat("x", tailSize-3) + "end"},
		{"many pieces", []string{strings.Repeat("x", tailSize), "end"}, "... " + strings.Repeat("x", tailSize-3) + "end"},
		{"exactly full", []string{strings.Repeat("x", tailSize)}, strings.Repeat("x", tailSize)},
		{"broken UTF-8", []string{"a\xffb"}, "a?b"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			var kept tail
			for _, p := range c.pieces {
				n, err := kept.Write([]byte(p))
				require.NoError(t, err)
				assert.Equal(t, len(p), n)
			}
			assert.Equal(t, c.want, kept.String())
		})
	}
}

func FuzzProgress(f *testing.F) {
	f.Add("frame=10\nfps=0.00\nstream_0_0_q=-1.0\nprogress=continue\nframe=N/A\nframe=-5\nprogress=end\n")
	f.Add("frame=99999999999999999999\nframe=frame=3\n=\n\n")
	f.Add(strings.Repeat("x", 10_000) + "\nframe=3")
	f.Fuzz(func(t *testing.T, text string) {
		last := 0.0
		m := &meter{total: 30, fn: func(p float64) {
			if p <= last || p > 1 {
				t.Errorf("went from %v to %v", last, p)
			}
			last = p
		}}
		if err := m.read(bytes.NewReader([]byte(text))); err != nil {
			t.Error(err)
		}
	})
}

func TestProgress(t *testing.T) {
	t.Parallel()
	var got []float64
	m := &meter{total: 40, fn: func(p float64) { got = append(got, p) }}
	require.NoError(t, m.read(strings.NewReader(
		"frame=0\nprogress=continue\nframe=10\nframe=9\nspeed=2x\r\nstream_5_frame=30\r\ndrop_frames=2\nframe=50\nprogress=end\n")))
	assert.Equal(t, []float64{0.25, 0.75, 1}, got)
}
