package jobs

import (
	"context"

	"github.com/riverqueue/river"

	"netreel/media/fault"
	"netreel/media/split"
)

// split finds a recording's deliveries, with what people have said of them
// already. What is found by sound is kept first, and what is found in the end
// replaces it: each in one transaction, together with the jobs that cut the
// clips. Run again it replaces what nobody has touched.
func (w *work) split(ctx context.Context, job *river.Job[SplitRecording]) error {
	r, err := w.Store.RecordingForJob(ctx, job.Args.RecordingID)
	if err != nil {
		return err
	}
	if r.Probe == nil {
		return fault.New(fault.Internal, "jobs.split", "The recording was not looked at yet. Try again.")
	}
	path, err := w.original(ctx, r.SHA256)
	if err != nil {
		return err
	}
	hints, err := w.Store.SplitHints(ctx, r.ID)
	if err != nil {
		return err
	}
	tell := w.progress(ctx, func(share float64) error { return w.Store.SetProgress(ctx, r.ID, "split", share) })
	tell(0)
	found, err := split.Refine(ctx, w.Tool.File(path), *r.Probe, hints, split.Watch{
		Progress: tell,
		Heard:    func(found split.Result) error { return w.Store.SaveHeard(ctx, r.ID, found) },
	})
	if err != nil {
		return err
	}
	return w.Store.SaveSplit(ctx, r.ID, found)
}

func (w *work) splitFailed(ctx context.Context, a SplitRecording, _ error, problem string) error {
	return w.Store.FailRecording(ctx, a.RecordingID, problem)
}
