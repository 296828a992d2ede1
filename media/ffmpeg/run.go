package ffmpeg

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
	"sync"
	"syscall"

	"netreel/media/fault"
)

// process is one run of a tool. The functions are called each in a goroutine
// of its own while the tool runs; an error from one stops the tool.
type process struct {
	args   []string
	stdin  func(io.Writer) error // nil: no input
	stdout func(io.Reader) error // nil: thrown away
	third  func(io.Reader) error // reads what the tool writes to pipe:3; nil: closed
}

// quiet are the flags of every ffmpeg run.
var quiet = []string{"-nostdin", "-hide_banner", "-v", "error", "-nostats", "-y"}

// run starts ffmpeg with the given arguments. A meter that is not nil is told
// how far it is, and that all is done only when it has ended well.
func (t *Tool) run(ctx context.Context, op string, args []string, progress *meter, p process) error {
	p.args = append([]string{}, quiet...)
	if progress != nil {
		p.args = append(p.args, "-progress", "pipe:1")
		p.stdout = progress.read
	}
	p.args = append(p.args, args...)
	err := t.supervise(ctx, op, t.ffmpeg, p)
	if err == nil && progress != nil {
		progress.report(1)
	}
	return err
}

// supervise runs a tool to its end in a process group of its own.
//
// When ctx ends, or one of the process's functions fails, the group gets
// SIGTERM, and SIGKILL when the grace has passed. It returns nil only if the
// tool ended with exit code 0 and ctx is still alive: a cancelled ffmpeg leaves
// a short file that looks sound.
func (t *Tool) supervise(ctx context.Context, op, bin string, p process) error {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	cmd := exec.CommandContext(ctx, bin, p.args...)
	cmd.SysProcAttr = ownGroup()
	cmd.Cancel = func() error { return signalGroup(cmd.Process.Pid, syscall.SIGTERM) }
	cmd.WaitDelay = t.grace
	var complaint tail
	cmd.Stderr = &complaint

	wires, err := connect(cmd, p, cancel)
	if err != nil {
		return fault.Wrap(err, fault.Unavailable, op, "The server has no file handles left. Try again in a minute.")
	}
	if err := cmd.Start(); err != nil {
		wires.abandon()
		return fault.Wrap(err, fault.Unavailable, op, "The video tool could not be started. Try again in a minute.")
	}
	wires.begin()
	t.log.DebugContext(ctx, "tool started", "op", op, "bin", bin, "args", p.args, "pid", cmd.Process.Pid)
	ended := cmd.Wait()
	if ctx.Err() != nil {
		// Whoever is left in the group may hold our pipes open.
		_ = signalGroup(cmd.Process.Pid, syscall.SIGKILL)
		wires.hangUp()
	}
	wires.wait()
	if ctx.Err() != nil {
		return stopped(ctx, op, complaint.String())
	}
	if ended != nil {
		return toolFault(op, ended, complaint.String())
	}
	return nil
}

// signalGroup signals a tool's whole process group.
func signalGroup(pid int, sig syscall.Signal) error {
	if err := syscall.Kill(-pid, sig); !errors.Is(err, syscall.ESRCH) {
		return err
	}
	return os.ErrProcessDone
}

// stopped explains a run that was cut off: by the caller's context or by one
// of its own functions.
func stopped(ctx context.Context, op, complaint string) error {
	cause := context.Cause(ctx)
	if complaint != "" && !errors.Is(cause, context.Canceled) {
		cause = fmt.Errorf("%w (the tool said: %s)", cause, complaint)
	}
	return fault.At(op, cause)
}

// toolFault explains a tool that failed by itself.
func toolFault(op string, err error, complaint string) error {
	if complaint != "" {
		err = fmt.Errorf("%w: %s", err, complaint)
	}
	if strings.Contains(complaint, syscall.ENOSPC.Error()) || strings.Contains(complaint, "No space left on device") {
		return fault.Wrap(err, fault.Unavailable, op, "The server's disk is full. Free some space, then try again.")
	}
	return fault.Wrap(err, fault.Internal, op,
		"The video could not be worked on. Try again; if it fails again, copy the file from the camera once more and upload it again.")
}

// wires are the pipes between us and one tool, and the goroutines on our ends.
type wires struct {
	ours, theirs []*os.File
	work         []func()
	group        sync.WaitGroup
}

// connect makes the pipes that p asks for and puts the tool's ends into cmd.
func connect(cmd *exec.Cmd, p process, fail context.CancelCauseFunc) (*wires, error) {
	w := &wires{}
	pipe := func() (r, wr *os.File, err error) {
		r, wr, err = os.Pipe()
		if err != nil {
			w.abandon()
		}
		return r, wr, err
	}
	if p.stdin != nil {
		r, ours, err := pipe()
		if err != nil {
			return nil, err
		}
		cmd.Stdin = r
		w.add(ours, r, func() { feed(ours, p.stdin, fail) })
	}
	for _, out := range []struct {
		fn     func(io.Reader) error
		attach func(*os.File)
	}{
		{p.stdout, func(f *os.File) { cmd.Stdout = f }},
		{p.third, func(f *os.File) { cmd.ExtraFiles = []*os.File{f} }},
	} {
		if out.fn == nil {
			continue
		}
		ours, theirs, err := pipe()
		if err != nil {
			return nil, err
		}
		out.attach(theirs)
		w.add(ours, theirs, func() { drain(ours, out.fn, fail) })
	}
	return w, nil
}

func (w *wires) add(ours, theirs *os.File, work func()) {
	w.ours, w.theirs = append(w.ours, ours), append(w.theirs, theirs)
	w.work = append(w.work, work)
}

// begin closes the tool's ends on our side and starts the goroutines.
func (w *wires) begin() {
	closeAll(w.theirs)
	for _, fn := range w.work {
		w.group.Go(fn)
	}
}

func (w *wires) wait()    { w.group.Wait(); closeAll(w.ours) }
func (w *wires) hangUp()  { closeAll(w.ours) }
func (w *wires) abandon() { closeAll(w.ours); closeAll(w.theirs) }

func closeAll(files []*os.File) {
	for _, f := range files {
		_ = f.Close() // a second close is harmless, and a pipe has nothing to flush
	}
}

// feed lets fn write to the tool. A tool that ended early is not fn's fault:
// its exit code tells the reason.
func feed(w *os.File, fn func(io.Writer) error, fail context.CancelCauseFunc) {
	if err := fn(w); err != nil && !errors.Is(err, syscall.EPIPE) {
		fail(err)
	}
	_ = w.Close()
}

// drain lets fn read what the tool writes, and reads the rest, so that a tool
// is never stuck on a full pipe.
func drain(r *os.File, fn func(io.Reader) error, fail context.CancelCauseFunc) {
	if err := fn(r); err != nil {
		fail(err)
	}
	_, _ = io.Copy(io.Discard, r)
}

// tail keeps the last bytes of what a tool complains of: the cause is at the end.
type tail struct {
	mu  sync.Mutex
	buf []byte
	cut bool
}

const tailSize = 4 << 10

func (t *tail) Write(p []byte) (int, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.buf = append(t.buf, p[max(0, len(p)-tailSize):]...)
	if extra := len(t.buf) - tailSize; extra > 0 || len(p) > tailSize {
		t.buf = append(t.buf[:0], t.buf[max(0, extra):]...)
		t.cut = true
	}
	return len(p), nil
}

func (t *tail) String() string {
	t.mu.Lock()
	defer t.mu.Unlock()
	s := strings.TrimSpace(strings.ToValidUTF8(string(t.buf), "?"))
	if t.cut {
		return "... " + s
	}
	return s
}
