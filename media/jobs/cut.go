package jobs

import (
	"context"
	"os"

	"github.com/riverqueue/river"

	"netreel/media/blob"
	"netreel/media/fault"
	"netreel/media/ffmpeg"
	"netreel/tagging"
)

// rounds is how often a batch is looked at again because edges were moved
// while it was being cut.
const rounds = 5

// cut makes the quick files of a batch of clips in one run of the tool. Each
// file is adopted and its row written one by one: killed in between, the next
// attempt cuts only those that are still without.
func (w *work) cut(ctx context.Context, job *river.Job[CutClips]) error {
	for range rounds {
		tasks, err := w.Store.ClipsForJob(ctx, job.Args.ClipIDs)
		if err != nil {
			return err
		}
		tasks = uncut(tasks)
		if len(tasks) == 0 {
			return nil
		}
		err = w.cutBatch(ctx, tasks)
		if err != nil && !cutOff(ctx) && ctx.Err() == nil && (!again[fault.KindOf(err)] || lastTry(job.JobRow)) {
			err = w.cutSingly(ctx, tasks)
		}
		if err != nil {
			return err
		}
	}
	return fault.New(fault.Conflict, "jobs.cut", "The balls were changed over and over while they were cut. Try again.")
}

// uncut are the clips that want a quick file and have none.
func uncut(tasks []ClipTask) []ClipTask {
	var out []ClipTask
	for _, t := range tasks {
		if t.Clip.Quick == nil && t.Clip.Problem == "" && t.Probe.BrowserShows() {
			out = append(out, t)
		}
	}
	return out
}

// cutBatch cuts clips of one recording.
func (w *work) cutBatch(ctx context.Context, tasks []ClipTask) (err error) {
	src, err := w.original(ctx, tasks[0].SHA256)
	if err != nil {
		return err
	}
	cuts := make([]ffmpeg.Cut, len(tasks))
	for i, t := range tasks {
		if cuts[i].Dst, err = w.Blobs.Stage("quick.mp4"); err != nil {
			return err
		}
		cuts[i].Span = t.Clip.Span
		defer func() { _ = os.Remove(cuts[i].Dst) }() // gone when adopted
	}
	done, err := w.Tool.CutMany(ctx, src, cuts, nil)
	if err != nil {
		return err
	}
	for i, t := range tasks {
		key := blob.ClipKey(t.Clip.ID, t.Clip.Revision, "quick")
		if err := w.Blobs.Adopt(ctx, key, done[i].Dst); err != nil {
			return err
		}
		kept, err := w.Store.SaveQuick(ctx, t.Clip.ID, t.Clip.Revision, tagging.ClipFile{Lead: done[i].Lead, Frames: done[i].Frames})
		if err := w.dropUnlessKept(ctx, key, kept, err); err != nil {
			return err
		}
	}
	return nil
}

// dropUnlessKept deletes a file that came too late: its clip has gone or has
// another stretch now.
func (d Deps) dropUnlessKept(ctx context.Context, key string, kept bool, err error) error {
	if err != nil || kept {
		return err
	}
	return d.Blobs.Delete(ctx, key)
}

// cutSingly cuts the clips one by one, so that one that can't be cut does not
// keep the others back.
func (w *work) cutSingly(ctx context.Context, tasks []ClipTask) error {
	for _, t := range tasks {
		err := w.cutBatch(ctx, []ClipTask{t})
		if err == nil {
			continue
		}
		if ctx.Err() != nil {
			return err
		}
		w.Log.WarnContext(ctx, "clip not cut", "clip", t.Clip.ID, "err", err)
		if err := w.Store.FailClip(ctx, t.Clip.ID, problemOf(err)); err != nil && fault.KindOf(err) != fault.NotFound {
			return err
		}
	}
	return nil
}

// cutFailed is called when even cutting singly failed: the queue or the
// database did, not a clip.
func (w *work) cutFailed(ctx context.Context, a CutClips, _ error, problem string) error {
	tasks, err := w.Store.ClipsForJob(ctx, a.ClipIDs)
	if err != nil {
		return err
	}
	for _, t := range uncut(tasks) {
		if err := w.Store.FailClip(ctx, t.Clip.ID, problem); err != nil {
			return err
		}
	}
	return nil
}
