package jobs

import (
	"context"

	"github.com/riverqueue/river"

	"netreel/media/blob"
	"netreel/media/ffmpeg"
	"netreel/tagging"
)

// smoothHeight is that of a smooth clip in pixels; a smaller original keeps
// its own.
const smoothHeight = 720

// smooth makes the smooth file of a clip: adopted first, then told to the
// row. Killed in between, it is made once more under the same key.
func (w *work) smooth(ctx context.Context, job *river.Job[SmoothClip]) error {
	tasks, err := w.Store.ClipsForJob(ctx, []int64{job.Args.ClipID})
	if err != nil {
		return err
	}
	if len(tasks) == 0 || tasks[0].Clip.Revision != job.Args.Revision || tasks[0].Clip.Smooth != nil {
		return nil // gone, another stretch by now (which has its own job), or made already
	}
	_, err = w.makeSmooth(ctx, tasks[0], nil)
	return err
}

// makeSmooth makes a clip's smooth file. It returns nil without an error when
// the clip's stretch was changed meanwhile.
func (w *work) makeSmooth(ctx context.Context, t ClipTask, tell func(float64)) (*tagging.ClipFile, error) {
	src, err := w.original(ctx, t.SHA256)
	if err != nil {
		return nil, err
	}
	key := blob.ClipKey(t.Clip.ID, t.Clip.Revision, "smooth")
	var file tagging.ClipFile
	err = w.publish(ctx, key, func(path string) error {
		done, err := w.Tool.Smooth(ctx, src, ffmpeg.Smooth{Span: t.Clip.Span, Height: smoothHeight, Dst: path}, tell)
		file = tagging.ClipFile{Lead: t.Clip.Span.Start - done.First, Frames: done.Frames}
		return err
	})
	if err != nil {
		return nil, err
	}
	kept, err := w.Store.SaveSmooth(ctx, t.Clip.ID, t.Clip.Revision, file)
	if err := w.dropUnlessKept(ctx, key, kept, err); err != nil || !kept {
		return nil, err
	}
	return &file, nil
}

// smoothFailed tells the person, unless there is a quick file to watch.
func (w *work) smoothFailed(ctx context.Context, a SmoothClip, cause error, problem string) error {
	tasks, err := w.Store.ClipsForJob(ctx, []int64{a.ClipID})
	if err != nil || len(tasks) == 0 || tasks[0].Clip.Revision != a.Revision {
		return err
	}
	if tasks[0].Clip.Quick != nil {
		w.Log.WarnContext(ctx, "no smooth version", "clip", a.ClipID, "err", cause)
		return nil
	}
	return w.Store.FailClip(ctx, a.ClipID, problem)
}
