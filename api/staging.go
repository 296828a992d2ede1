package api

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"os"
	"syscall"

	"github.com/tus/tusd/v2/pkg/filestore"
	tus "github.com/tus/tusd/v2/pkg/handler"
	xslog "golang.org/x/exp/slog"

	"netreel/media/fault"
)

// staging is tusd's folder of files on their way in. It tells a person what
// went wrong where tusd would tell paths and system errors, and says that an
// upload is whole only when it would survive a power cut.
type staging struct {
	files filestore.FileStore
	locks *locks
}

func newStaging(dir string) staging {
	files := filestore.New(dir)
	files.FileModePerm, files.DirModePerm = 0o640, 0o750
	return staging{files, newLocks()}
}

// NewUpload implements tus.DataStore.
func (s staging) NewUpload(ctx context.Context, info tus.FileInfo) (tus.Upload, error) {
	u, err := s.files.NewUpload(ctx, info)
	return staged{u, s, info.ID}, hold(ctx, diskFault(err))
}

// GetUpload implements tus.DataStore.
func (s staging) GetUpload(ctx context.Context, id string) (tus.Upload, error) {
	u, err := s.files.GetUpload(ctx, id)
	return staged{u, s, id}, hold(ctx, diskFault(err))
}

// AsTerminatableUpload implements tus.TerminaterDataStore.
func (s staging) AsTerminatableUpload(u tus.Upload) tus.TerminatableUpload {
	return s.files.AsTerminatableUpload(u.(staged).Upload)
}

type staged struct {
	tus.Upload
	in staging
	id string
}

// WriteChunk implements tus.Upload. What fitted before a failure is kept.
func (u staged) WriteChunk(ctx context.Context, offset int64, src io.Reader) (int64, error) {
	u.in.locks.begin(u.id)
	n, err := u.Upload.WriteChunk(ctx, offset, src)
	return n, hold(ctx, diskFault(err))
}

// FinishUpload implements tus.Upload.
func (u staged) FinishUpload(ctx context.Context) error {
	root, err := os.OpenRoot(u.in.files.Path)
	if err != nil {
		return hold(ctx, diskFault(err))
	}
	defer func() { _ = root.Close() }()
	f, err := root.OpenFile(u.id, os.O_RDWR, 0)
	if err != nil {
		return hold(ctx, diskFault(err))
	}
	err = errors.Join(f.Sync(), f.Close())
	return hold(ctx, diskFault(err))
}

// diskFault gives a file system's error a text for the person; tusd's own
// errors stay what they are.
func diskFault(err error) error {
	if _, ok := errors.AsType[tus.Error](err); ok || err == nil {
		return err
	}
	if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) {
		return fault.Wrap(err, fault.Unavailable, "api.staging",
			"The server's disk is full. What came is kept: free some space on the server, then go on with the upload.")
	}
	return fault.Wrap(err, fault.Internal, "api.staging", "")
}

// heldFault carries a fault past tusd, which would send its text to the
// client.
type heldFault struct{ err error }

type heldKey struct{}

// hold keeps a fault for uploads.pass and gives tusd one that says nothing.
// nil and tusd's own errors pass.
func hold(ctx context.Context, err error) error {
	if _, ok := errors.AsType[tus.Error](err); ok || err == nil {
		return err
	}
	if h, ok := ctx.Value(heldKey{}).(*heldFault); ok {
		h.err = err
	}
	return tus.NewError("ERR_HELD", "see the problem", 500)
}

// tusLogger hands tusd's log on to ours. tusd still speaks the library that
// log/slog grew out of. It tells of every request, and takes a connection that
// broke for an error: all that is our debugging. What is ours to mend leaves as
// a problem and is logged as one.
func tusLogger(log *slog.Logger) *xslog.Logger { return xslog.New(logBridge{log}) }

type logBridge struct{ log *slog.Logger }

// Enabled implements slog.Handler.
func (b logBridge) Enabled(ctx context.Context, _ xslog.Level) bool {
	return b.log.Enabled(ctx, slog.LevelDebug)
}

// Handle implements slog.Handler.
func (b logBridge) Handle(ctx context.Context, r xslog.Record) error {
	var attrs []slog.Attr
	r.Attrs(func(a xslog.Attr) bool {
		attrs = append(attrs, slog.Any(a.Key, a.Value.Any()))
		return true
	})
	b.log.LogAttrs(ctx, slog.LevelDebug, "tus: "+r.Message, attrs...) //nolint:sloglint // the words are the upload library's
	return nil
}

// WithAttrs implements slog.Handler.
func (b logBridge) WithAttrs(attrs []xslog.Attr) xslog.Handler {
	var args []any
	for _, a := range attrs {
		args = append(args, slog.Any(a.Key, a.Value.Any()))
	}
	return logBridge{b.log.With(args...)}
}

// WithGroup implements slog.Handler.
func (b logBridge) WithGroup(name string) xslog.Handler { return logBridge{b.log.WithGroup(name)} }
