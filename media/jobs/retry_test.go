package jobs

import (
	"context"
	"errors"
	"log/slog"
	"testing"
	"time"

	"github.com/riverqueue/river"
	"github.com/riverqueue/river/rivertype"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/fault"
)

func TestEveryKindOfFaultIsRetriedOrCancelled(t *testing.T) {
	t.Parallel()
	for _, k := range fault.Kinds() {
		assert.Contains(t, again, k, "%s is missing", k)
	}
}

func errorsOf(texts ...string) (list []rivertype.AttemptError) {
	for _, s := range texts {
		list = append(list, rivertype.AttemptError{Error: s})
	}
	return list
}

// TestWhatAFailureLeadsTo: what may get better is tried again in silence;
// else, and at the last try, the person is told and the job ends.
func TestWhatAFailureLeadsTo(t *testing.T) {
	t.Parallel()
	full := fault.New(fault.Unavailable, "x", "The disk is full.")
	bad := fault.New(fault.Invalid, "x", "Not a video.")
	const crash = rescued + " by JobRescuer"
	for _, tc := range []struct {
		name    string
		err     error
		attempt int
		errors  []rivertype.AttemptError
		told    string // "" for nobody
		runs    bool
	}{
		{"it works", nil, 1, nil, "", true},
		{"a bad file, first try", bad, 1, nil, "Not a video.", true},
		{"full disk, first try", full, 1, nil, "", true},
		{"full disk, fourth failure", full, 4, errorsOf("a", "b", "c"), "The disk is full.", true},
		{"full disk, after three crashes", full, 4, errorsOf(crash, crash, crash), "", true},
		{"full disk, after three crashes that left no trace", full, 4, nil, "", true},
		{"seven crashes, fourth failure", full, 11, errorsOf(crash, "a", crash, "b", "c"), "The disk is full.", true},
		{"a stranger's error, last try", errors.New("secret"), 4, errorsOf("a", "b", "c"),
			"The server made a mistake here. Try again; if it stays, tell whoever runs the server.", true},
		{"it brings the server down", nil, crashes + 1, nil,
			"The server went down 8 times while this was being done. Tell whoever runs the server, then try again.", false},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			told, ran := "", false
			w := &worker[Sweep]{log: slog.New(slog.DiscardHandler), timeout: time.Minute,
				run:  func(context.Context, *river.Job[Sweep]) error { ran = true; return tc.err },
				fail: func(_ context.Context, _ Sweep, _ error, problem string) error { told = problem; return nil },
			}
			job := &river.Job[Sweep]{JobRow: &rivertype.JobRow{Attempt: tc.attempt, MaxAttempts: maxAttempts, Errors: tc.errors, Kind: "sweep"}}
			err := w.Work(t.Context(), job)
			assert.Equal(t, tc.told, told)
			assert.Equal(t, tc.runs, ran)
			var cancel *river.JobCancelError
			assert.Equal(t, tc.told != "", errors.As(err, &cancel), "a job is over when the person is told")
			if tc.err == nil && tc.runs {
				assert.NoError(t, err)
			} else {
				assert.Error(t, err)
			}
		})
	}
}

// work1 is a worker of which only run matters.
func work1(run func(ctx context.Context) error, told *string) *worker[Sweep] {
	return &worker[Sweep]{log: slog.New(slog.DiscardHandler), timeout: time.Minute,
		run: func(ctx context.Context, _ *river.Job[Sweep]) error { return run(ctx) },
		fail: func(ctx context.Context, _ Sweep, _ error, problem string) error {
			*told = problem
			return ctx.Err()
		}}
}

func lastJob() *river.Job[Sweep] {
	return &river.Job[Sweep]{JobRow: &rivertype.JobRow{Attempt: maxAttempts, MaxAttempts: maxAttempts, Errors: errorsOf("a", "b", "c", "d", "e", "f", "g", "h", "i", "j", "k"), Kind: "sweep"}}
}

func TestPanicIsTold(t *testing.T) {
	t.Parallel()
	told := ""
	err := work1(func(context.Context) error { panic("boom") }, &told).Work(t.Context(), lastJob())
	require.Error(t, err)
	assert.Contains(t, told, "The server made a mistake")
	assert.NotContains(t, told, "boom")
}

// TestStoppingIsNoFailure: a server that stops, or a person who cancels, ends
// the attempt; nobody is told of a problem.
func TestStoppingIsNoFailure(t *testing.T) {
	t.Parallel()
	told := ""
	ctx, cancel := context.WithCancelCause(t.Context())
	err := work1(func(ctx context.Context) error { cancel(river.ErrJobCancelledRemotely); return context.Cause(ctx) }, &told).Work(ctx, lastJob())
	require.ErrorIs(t, err, river.ErrJobCancelledRemotely)
	assert.Empty(t, told)
}

// TestTooLongIsTold: the time limit is a failure like any other, and the
// record of it is made although the attempt's own context is over.
func TestTooLongIsTold(t *testing.T) {
	t.Parallel()
	told := ""
	ctx, cancel := context.WithDeadline(t.Context(), time.Now().Add(-time.Second))
	defer cancel()
	err := work1(func(ctx context.Context) error { return context.Cause(ctx) }, &told).Work(ctx, lastJob())
	require.Error(t, err)
	assert.Equal(t, "The work took longer than 1 minutes. Try again when the server has less to do.", told)
}

// TestRecordIsNotLost: when the problem can't be recorded the job is not over.
func TestRecordIsNotLost(t *testing.T) {
	t.Parallel()
	w := &worker[Sweep]{log: slog.New(slog.DiscardHandler), timeout: time.Minute,
		run:  func(context.Context, *river.Job[Sweep]) error { return fault.New(fault.Invalid, "x", "Bad.") },
		fail: func(context.Context, Sweep, error, string) error { return fault.New(fault.Unavailable, "db", "") }}
	err := w.Work(t.Context(), &river.Job[Sweep]{JobRow: &rivertype.JobRow{Attempt: 1, MaxAttempts: maxAttempts, Kind: "sweep"}})
	var cancelled *river.JobCancelError
	require.Error(t, err)
	assert.False(t, errors.As(err, &cancelled))
}

// TestEveryKindIsWorked: a job in a queue that nobody works would wait for
// ever, and the queue would not say so.
func TestEveryKindIsWorked(t *testing.T) {
	t.Parallel()
	cfg := Config(Deps{Log: slog.New(slog.DiscardHandler)}, 2)
	for _, args := range []interface {
		river.JobArgs
		river.JobArgsWithInsertOpts
	}{LandUpload{}, ProbeRecording{}, SplitRecording{}, CutClips{}, SmoothClip{}, ExportReel{}, Sweep{}} {
		opts := args.InsertOpts()
		assert.Contains(t, cfg.Queues, opts.Queue, args.Kind())
		assert.Equal(t, maxAttempts, opts.MaxAttempts)
		assert.True(t, opts.UniqueOpts.ByArgs)
		assert.NotContains(t, opts.UniqueOpts.ByState, rivertype.JobStateCompleted, "a finished cut must not keep the next one back")
		assert.Panics(t, func() { addAgain(cfg.Workers, args) }, "%s has no worker", args.Kind())
	}
	assert.Greater(t, cfg.RescueStuckJobsAfter, cfg.JobTimeout)
	assert.Positive(t, cfg.SoftStopTimeout)
}

// addAgain adds a second worker of a kind, which river refuses.
func addAgain(all *river.Workers, args river.JobArgs) {
	switch args.(type) {
	case LandUpload:
		river.AddWorker(all, river.WorkFunc(func(context.Context, *river.Job[LandUpload]) error { return nil }))
	case ProbeRecording:
		river.AddWorker(all, river.WorkFunc(func(context.Context, *river.Job[ProbeRecording]) error { return nil }))
	case SplitRecording:
		river.AddWorker(all, river.WorkFunc(func(context.Context, *river.Job[SplitRecording]) error { return nil }))
	case CutClips:
		river.AddWorker(all, river.WorkFunc(func(context.Context, *river.Job[CutClips]) error { return nil }))
	case SmoothClip:
		river.AddWorker(all, river.WorkFunc(func(context.Context, *river.Job[SmoothClip]) error { return nil }))
	case ExportReel:
		river.AddWorker(all, river.WorkFunc(func(context.Context, *river.Job[ExportReel]) error { return nil }))
	case Sweep:
		river.AddWorker(all, river.WorkFunc(func(context.Context, *river.Job[Sweep]) error { return nil }))
	}
}
