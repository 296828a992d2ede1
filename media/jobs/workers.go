package jobs

import (
	"context"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"time"

	"github.com/riverqueue/river"

	"netreel/media"
	"netreel/media/blob"
	"netreel/media/ffmpeg"
	"netreel/media/render"
)

// Tool is what the workers need of *ffmpeg.Tool.
type Tool interface {
	render.Maker // Probe is in it
	CutMany(ctx context.Context, src string, cuts []ffmpeg.Cut, onProgress func(float64)) ([]ffmpeg.CutDone, error)
	Smooth(ctx context.Context, src string, s ffmpeg.Smooth, onProgress func(float64)) (ffmpeg.SmoothDone, error)
	Poster(ctx context.Context, src string, at media.Micros, width int, dst string) error
	File(path string) ffmpeg.File
}

// Deps is what the workers stand on.
type Deps struct {
	Store     Store
	Blobs     blob.Store
	Tool      Tool
	UploadDir string // where uploads land, each under its tus id
	Name      string // of this server, unlike any other on the same database, the same after a restart; "" for a new one each time
	Log       *slog.Logger
}

// work holds what the workers share.
type work struct {
	Deps
	// publishing keeps the sweep from deleting a blob between its adoption and the row that speaks of it: those who
	// publish under a key that may be there already hold it for reading.
	publishing sync.RWMutex
	walked     time.Time // when the sweep last looked through all blobs
}

// Workers makes a worker for each kind of job.
func Workers(d Deps) *river.Workers {
	w := &work{Deps: d}
	all := river.NewWorkers()
	river.AddWorker(all, &worker[LandUpload]{log: d.Log, timeout: 40 * time.Minute, run: w.land, fail: w.landFailed})
	river.AddWorker(all, &worker[ProbeRecording]{log: d.Log, timeout: 5 * time.Minute, run: w.probe, fail: w.probeFailed})
	river.AddWorker(all, &worker[SplitRecording]{log: d.Log, timeout: 30 * time.Minute, run: w.split, fail: w.splitFailed})
	river.AddWorker(all, &worker[AlignSession]{log: d.Log, timeout: 30 * time.Minute, run: w.align, fail: w.alignFailed})
	river.AddWorker(all, &worker[CutClips]{log: d.Log, timeout: 10 * time.Minute, run: w.cut, fail: w.cutFailed})
	river.AddWorker(all, &worker[SmoothClip]{log: d.Log, timeout: 10 * time.Minute, run: w.smooth, fail: w.smoothFailed})
	river.AddWorker(all, &worker[ExportReel]{log: d.Log, timeout: 40 * time.Minute, run: w.export, fail: w.exportFailed})
	river.AddWorker(all, &worker[Sweep]{log: d.Log, timeout: 10 * time.Minute, run: w.sweep, fail: w.sweepFailed})
	return all
}

// sweepEvery is how often the sweep runs.
const sweepEvery = 10 * time.Minute

// Config is the queue's configuration: how many tools run at once is the
// machine's cores; what is quick has a queue of its own.
func Config(d Deps, tools int) *river.Config {
	return &river.Config{
		ID:                   d.Name,
		Logger:               Warnings(d.Log),
		Workers:              Workers(d),
		Queues:               map[string]river.QueueConfig{QueueTools: {MaxWorkers: tools}, QueueQuick: {MaxWorkers: 4}},
		SoftStopTimeout:      10 * time.Second,
		JobTimeout:           10 * time.Minute,
		RescueStuckJobsAfter: 15 * time.Minute,
		PeriodicJobs: []*river.PeriodicJob{
			river.NewPeriodicJob(river.PeriodicInterval(sweepEvery),
				func() (river.JobArgs, *river.InsertOpts) { return Sweep{}, nil },
				&river.PeriodicJobOpts{RunOnStart: true}),
		},
	}
}

// staged is where an upload's bytes lie until they are landed.
func (d Deps) staged(tusID string) string { return filepath.Join(d.UploadDir, filepath.Base(tusID)) }

// removeStaged deletes an upload's files. What can't be deleted now the sweep
// deletes later.
func (d Deps) removeStaged(ctx context.Context, tusID string) {
	for _, path := range []string{d.staged(tusID), d.staged(tusID) + ".info"} {
		if err := os.Remove(path); err != nil && !os.IsNotExist(err) {
			d.Log.WarnContext(ctx, "upload not removed", "err", err)
		}
	}
}

// publish makes a file by a tool under a staging name and adopts it. What the
// tool leaves behind when it fails is removed; after a crash the sweep does
// that.
func (d Deps) publish(ctx context.Context, key string, make func(path string) error) error {
	path, err := d.Blobs.Stage(filepath.Base(key))
	if err != nil {
		return err
	}
	defer func() { _ = os.Remove(path) }() // gone when adopted
	if err := make(path); err != nil {
		return err
	}
	return d.Blobs.Adopt(ctx, key, path)
}

// progress makes of a tool's many reports one a second at most.
func (d Deps) progress(ctx context.Context, tell func(share float64) error) func(float64) {
	var last time.Time
	return func(share float64) {
		if time.Since(last) < time.Second || ctx.Err() != nil {
			return
		}
		last = time.Now()
		if err := tell(min(max(share, 0), 1)); err != nil {
			d.Log.DebugContext(ctx, "progress not told", "err", err)
		}
	}
}
