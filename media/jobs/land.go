package jobs

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"time"

	"github.com/riverqueue/river"

	"netreel/media/blob"
	"netreel/media/fault"
	"netreel/tagging"
)

// land makes a recording of an upload whose bytes are all there.
//
// It may be killed anywhere. Before the blob is adopted nothing has happened.
// Between the blob and the row the blob is one that nobody speaks of: the next
// attempt adopts it again. Between the row and the end of the job the upload is
// adopted already, and what is left is to remove the staged file.
func (w *work) land(ctx context.Context, job *river.Job[LandUpload]) error {
	u, err := w.Store.UploadForJob(ctx, job.Args.UploadID)
	if err != nil {
		return err
	}
	switch u.State {
	case tagging.UploadAdopted, tagging.UploadDuplicate:
		w.removeStaged(ctx, u.TusID)
		return nil
	case tagging.UploadFailed:
		return nil
	}
	sum, err := w.checkStaged(ctx, u)
	if err != nil {
		return err
	}
	// An older blob of the same content may be about to be swept: from here to the row the sweep waits.
	w.publishing.RLock()
	defer w.publishing.RUnlock()
	if err := w.keepOriginal(ctx, w.staged(u.TusID), blob.OriginalKey(sum)); err != nil {
		return err
	}
	if _, err := w.Store.LandUpload(ctx, u.ID, sum, u.Size); err != nil {
		return err
	}
	w.removeStaged(ctx, u.TusID)
	return nil
}

// landFailed tells the person what is wrong with the file. When it is not the
// file but the server, the upload stays and the sweep lands it later.
func (w *work) landFailed(ctx context.Context, a LandUpload, err error, problem string) error {
	if again[fault.KindOf(err)] {
		return nil
	}
	u, err := w.Store.UploadForJob(ctx, a.UploadID)
	if err != nil {
		return err
	}
	if err := w.Store.FailUpload(ctx, a.UploadID, problem); err != nil {
		return err
	}
	w.removeStaged(ctx, u.TusID)
	return nil
}

// checkStaged hashes an upload's file, and looks whether all of it is there.
func (w *work) checkStaged(ctx context.Context, u tagging.Upload) (sum [32]byte, err error) {
	const op = "jobs.land"
	f, err := os.Open(w.staged(u.TusID))
	if errors.Is(err, fs.ErrNotExist) {
		return sum, fault.Wrap(err, fault.NotFound, op, "The file is not on the server any more. Upload it once more.")
	}
	if err != nil {
		return sum, fault.Wrap(err, fault.Unavailable, op, "")
	}
	defer func() { _ = f.Close() }()
	h := sha256.New()
	n, err := io.Copy(h, reader{ctx, f})
	switch {
	case ctx.Err() != nil:
		return sum, context.Cause(ctx)
	case err != nil:
		return sum, fault.Wrap(err, fault.Unavailable, op, "The file could not be read on the server. Check the server's disk.")
	case n == 0:
		return sum, fault.New(fault.Invalid, op, "This file is empty. Copy it from the camera again and upload it once more.")
	case n != u.Size:
		return sum, fault.New(fault.Invalid, op,
			fmt.Sprintf("Of this file's %d bytes only %d are on the server. Upload it once more.", u.Size, n))
	}
	return [32]byte(h.Sum(nil)), nil
}

// keepOriginal adopts a second name of the staged file, so that it is there
// under its own until the row is. On another file system it is copied.
func (w *work) keepOriginal(ctx context.Context, path, key string) error {
	return w.publish(ctx, key, func(second string) error {
		// The sweep goes by a blob's age, which is that of its last write: an upload may have waited for days.
		now := time.Now()
		if err := os.Chtimes(path, now, now); err != nil {
			return fault.Wrap(err, fault.Unavailable, "jobs.land", "")
		}
		if os.Link(path, second) == nil {
			return nil
		}
		return copyFile(ctx, path, second)
	})
}

func copyFile(ctx context.Context, from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return fault.Wrap(err, fault.Unavailable, "jobs.land", "")
	}
	defer func() { _ = in.Close() }()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o640)
	if err == nil {
		_, err = io.Copy(out, reader{ctx, in})
		err = errors.Join(err, out.Close())
	}
	return fault.Wrap(err, fault.Unavailable, "jobs.land", "The file could not be copied. Free some space on the server's disk.")
}

// reader reads until ctx ends.
type reader struct {
	ctx context.Context
	r   io.Reader
}

func (r reader) Read(b []byte) (int, error) {
	if r.ctx.Err() != nil {
		return 0, context.Cause(r.ctx)
	}
	return r.r.Read(b)
}
