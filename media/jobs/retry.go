package jobs

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"
	"strings"
	"time"

	"github.com/riverqueue/river"
	"github.com/riverqueue/river/rivertype"

	"netreel/media/fault"
)

// again says of each kind of fault whether trying again may help. What can't
// get better is not tried again: the person is told at once.
var again = map[fault.Kind]bool{
	fault.Internal:     true, // perhaps the tool was killed
	fault.Invalid:      false,
	fault.NotFound:     false,
	fault.Conflict:     true,
	fault.TooLarge:     false,
	fault.Unsupported:  false,
	fault.Unauthorised: false,
	fault.Forbidden:    false,
	fault.Unavailable:  true,
}

// tries is how often work may fail by itself before the person is told, and
// crashes how often the server may go down while it is being done.
const (
	tries   = 4
	crashes = 8
)

// rescued is how an attempt that a crash cut off is told from one that
// failed, when it was the queue that took the job up again (its own words).
const rescued = "Stuck job rescued"

// failures counts the attempts that failed by themselves.
func failures(job *rivertype.JobRow) int {
	n := 0
	for _, e := range job.Errors {
		if !strings.HasPrefix(e.Error, rescued) {
			n++
		}
	}
	return n
}

// lastTry says whether a job is not tried again when it fails now.
func lastTry(job *rivertype.JobRow) bool {
	return failures(job)+1 >= tries || job.Attempt >= job.MaxAttempts
}

// crashed counts the attempts before this one that a crash cut off.
func crashed(job *rivertype.JobRow) int { return job.Attempt - 1 - failures(job) }

// worker is a river worker of one kind: a bounded run, and what is recorded
// for the person when it has come to nothing.
type worker[A river.JobArgs] struct {
	river.WorkerDefaults[A]
	log     *slog.Logger
	timeout time.Duration
	run     func(ctx context.Context, job *river.Job[A]) error
	fail    func(ctx context.Context, args A, err error, problem string) error
}

// Timeout is how long one attempt may take.
func (w *worker[A]) Timeout(*river.Job[A]) time.Duration { return w.timeout }

// Work runs one attempt.
func (w *worker[A]) Work(ctx context.Context, job *river.Job[A]) error {
	err := w.attempt(ctx, job)
	if err == nil || cutOff(ctx) {
		return err // done; or stopped from outside, which is no failure
	}
	if errors.Is(context.Cause(ctx), context.DeadlineExceeded) {
		err = fault.Wrap(err, fault.Unavailable, job.Kind, fmt.Sprintf("The work took longer than %d minutes. Try again when the server has less to do.",
			int(w.timeout.Minutes())))
	}
	retry := again[fault.KindOf(err)]
	if retry && !lastTry(job.JobRow) {
		return err
	}
	// The attempt's own context may be over; the record must be made.
	recording, cancel := context.WithTimeout(context.WithoutCancel(ctx), 30*time.Second)
	defer cancel()
	if failErr := w.fail(recording, job.Args, err, problemOf(err)); failErr != nil && fault.KindOf(failErr) != fault.NotFound {
		w.log.ErrorContext(ctx, "problem not recorded", "job", job.ID, "kind", job.Kind, "err", failErr)
		return errors.Join(err, failErr) // tried again while attempts are left, so that the record is made
	}
	return river.JobCancel(err)
}

// problemOf is what the person is told of an error.
func problemOf(err error) string {
	return cmp.Or(fault.Message(err), "The server made a mistake here. Try again; if it stays, tell whoever runs the server.")
}

// attempt runs the work and turns a panic into an error, so that the person
// is told of it too. Work that seems to bring the server down is not begun.
func (w *worker[A]) attempt(ctx context.Context, job *river.Job[A]) (err error) {
	if n := crashed(job.JobRow); n >= crashes {
		return fault.New(fault.Unsupported, job.Kind,
			fmt.Sprintf("The server went down %d times while this was being done. Tell whoever runs the server, then try again.", n))
	}
	defer func() {
		if p := recover(); p != nil {
			w.log.ErrorContext(ctx, "panic", "job", job.ID, "kind", job.Kind, "panic", p, "stack", string(debug.Stack()))
			err = fault.Wrap(fmt.Errorf("panic: %v", p), fault.Internal, job.Kind, "")
		}
	}()
	return w.run(ctx, job)
}

// cutOff says whether an attempt was ended from outside: the server stops, or
// a person cancelled the job.
func cutOff(ctx context.Context) bool {
	return ctx.Err() != nil && !errors.Is(context.Cause(ctx), context.DeadlineExceeded)
}
