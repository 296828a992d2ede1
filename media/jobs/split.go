package jobs

import (
	"context"

	"github.com/riverqueue/river"

	"netreel/media/fault"
	"netreel/media/split"
)

// split finds a recording's deliveries. Everything that it finds is kept in
// one transaction, together with the jobs that cut the clips; run again it
// replaces what nobody has touched.
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
	tell := w.progress(ctx, func(share float64) error { return w.Store.SetProgress(ctx, r.ID, "split", share) })
	tell(0)
	found, err := split.Find(ctx, w.Tool.File(path), *r.Probe, tell)
	if err != nil {
		return err
	}
	if len(found.Notes) > 0 {
		w.Log.InfoContext(ctx, "split", "recording", r.ID, "notes", found.Notes)
	}
	return w.Store.SaveSplit(ctx, r.ID, found)
}

func (w *work) splitFailed(ctx context.Context, a SplitRecording, _ error, problem string) error {
	return w.Store.FailRecording(ctx, a.RecordingID, problem)
}
