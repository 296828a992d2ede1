package jobs

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/riverqueue/river"

	"netreel/media/blob"
	"netreel/media/fault"
	"netreel/tagging"
)

// How old things must be before the sweep takes them for left behind.
const (
	uploadRests  = 10 * time.Minute   // an upload whose finish may have been lost
	uploadStale  = 7 * 24 * time.Hour // one that nobody goes on with
	strayAge     = time.Hour          // a staged file without a row, a blob without one
	stagedAge    = 24 * time.Hour     // a tool's unfinished file
	walkEvery    = time.Hour          // between two looks through all blobs
	askedAtOnce  = 500                // keys in one question to the database
	staleProblem = "The upload was not finished within seven days. Upload the file again."
)

// sweep adopts what was left half done, removes what nobody speaks of, and
// brings up to date what an earlier program has computed. All its parts may be killed anywhere: each looks at what is there, not at what
// was done before.
func (w *work) sweep(ctx context.Context, _ *river.Job[Sweep]) error {
	now := time.Now()
	errs := []error{w.sweepUploads(ctx, now), w.sweepStrays(ctx, now), w.Store.DropOldSignIns(ctx), w.Store.RenewReadings(ctx)}
	if _, err := w.Blobs.SweepStaged(ctx, stagedAge); err != nil {
		errs = append(errs, err)
	}
	if now.Sub(w.walked) >= walkEvery {
		err := w.sweepBlobs(ctx, now)
		if err == nil {
			w.walked = now
		}
		errs = append(errs, err)
	}
	return errors.Join(errs...)
}

// sweepFailed has nobody to tell: the next sweep tries again.
func (w *work) sweepFailed(ctx context.Context, _ Sweep, err error, _ string) error {
	w.Log.WarnContext(ctx, "sweep failed", "err", err)
	return nil
}

// sweepUploads lands whole uploads whose last call was lost, and gives up
// those that nobody goes on with.
func (w *work) sweepUploads(ctx context.Context, now time.Time) error {
	rows, err := w.Store.OpenUploads(ctx, now.Add(-uploadRests))
	if err != nil {
		return err
	}
	var errs []error
	for _, u := range rows {
		if err := w.sweepUpload(ctx, u, now); err != nil && fault.KindOf(err) != fault.NotFound {
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}

func (w *work) sweepUpload(ctx context.Context, u tagging.Upload, now time.Time) error {
	touched, size := u.Updated, int64(-1)
	if info, err := os.Stat(w.staged(u.TusID)); err == nil {
		size = info.Size()
		if info.ModTime().After(touched) {
			touched = info.ModTime()
		}
	}
	if now.Sub(touched) > uploadStale {
		if err := w.Store.FailUpload(ctx, u.ID, staleProblem); err != nil {
			return err
		}
		w.removeStaged(ctx, u.TusID)
		return nil
	}
	if u.State == tagging.UploadLanded || size == u.Size {
		return w.Store.MarkLanded(ctx, u.TusID)
	}
	return nil
}

// sweepStrays removes staged uploads that no open or landed row speaks of. The
// row is written before the file and outlives it, so that a file seen here
// whose row is gone is done with.
func (w *work) sweepStrays(ctx context.Context, now time.Time) error {
	entries, err := os.ReadDir(w.UploadDir)
	if err != nil {
		return fault.Wrap(err, fault.Unavailable, "jobs.sweep", "")
	}
	rows, err := w.Store.OpenUploads(ctx, now.Add(strayAge))
	if err != nil {
		return err
	}
	known := map[string]bool{}
	for _, u := range rows {
		known[filepath.Base(u.TusID)] = true
	}
	for _, e := range entries {
		id := strings.TrimSuffix(e.Name(), ".info")
		info, err := e.Info()
		if err != nil || known[id] || !info.Mode().IsRegular() || now.Sub(info.ModTime()) < strayAge {
			continue
		}
		w.removeStaged(ctx, id)
	}
	return nil
}

// sweepBlobs deletes files that no row speaks of: of deleted recordings, of
// older revisions of clips, of work that was cut off.
func (w *work) sweepBlobs(ctx context.Context, now time.Time) error {
	var keys []string
	for _, prefix := range []string{"originals/", "clips/", "exports/"} {
		err := w.Blobs.List(ctx, prefix, func(i blob.Info) error {
			if now.Sub(i.ModTime) < strayAge {
				return nil
			}
			keys = append(keys, i.Key)
			if len(keys) < askedAtOnce {
				return nil
			}
			batch := keys
			keys = nil
			return w.deleteUnreferenced(ctx, batch, now)
		})
		if err != nil {
			return err
		}
	}
	return w.deleteUnreferenced(ctx, keys, now)
}

// deleteUnreferenced asks and deletes while nobody publishes under a key that
// was there already.
func (w *work) deleteUnreferenced(ctx context.Context, keys []string, now time.Time) error {
	if len(keys) == 0 {
		return nil
	}
	w.publishing.Lock()
	defer w.publishing.Unlock()
	gone, err := w.Store.Unreferenced(ctx, keys)
	if err != nil {
		return err
	}
	for _, key := range gone {
		// Another server on the same files may have adopted it anew since it was listed.
		if info, err := w.Blobs.Stat(ctx, key); err != nil || now.Sub(info.ModTime) < strayAge {
			continue
		}
		if err := w.Blobs.Delete(ctx, key); err != nil {
			return err
		}
	}
	return nil
}
