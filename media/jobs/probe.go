package jobs

import (
	"context"

	"github.com/riverqueue/river"

	"netreel/media/blob"
	"netreel/media/fault"
	"netreel/tagging"
)

// probe reads what a recording is made of. It writes one row; killed before
// that nothing has happened, killed after that the row says so.
func (w *work) probe(ctx context.Context, job *river.Job[ProbeRecording]) error {
	r, err := w.Store.RecordingForJob(ctx, job.Args.RecordingID)
	if err != nil {
		return err
	}
	if r.Probe != nil && r.State != tagging.Landed {
		return nil
	}
	path, err := w.original(ctx, r.SHA256)
	if err != nil {
		return err
	}
	p, err := w.Tool.Probe(ctx, path)
	if err != nil {
		return err
	}
	return w.Store.SaveProbe(ctx, r.ID, p)
}

func (w *work) probeFailed(ctx context.Context, a ProbeRecording, _ error, problem string) error {
	return w.Store.FailRecording(ctx, a.RecordingID, problem)
}

// original is where a recording's file lies.
func (d Deps) original(ctx context.Context, sha256 [32]byte) (string, error) {
	path, err := d.Blobs.Path(ctx, blob.OriginalKey(sha256))
	if fault.KindOf(err) == fault.NotFound {
		return "", fault.Wrap(err, fault.NotFound, "jobs.original", "The recording's file is gone from the server. Delete the recording and upload the file once more.")
	}
	return path, err
}
