package api

import (
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"log/slog"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"
	tus "github.com/tus/tusd/v2/pkg/handler"

	"netreel/media"
	"netreel/media/fault"
	"netreel/tagging"
)

const (
	uploadsPath = "/api/uploads/"
	tusVersion  = "1.0.0"
	chunkType   = "application/offset+octet-stream"
)

// uploads speaks tus 1.0.0 (core, creation, termination; tus.io, "tus
// resumable upload protocol", 2016-03-25) through the tusd library. The library
// sees only uploads that are open and the viewer's own; what the row in the
// database knows better is answered here.
type uploads struct {
	store Store
	dir   string
	log   *slog.Logger
	tusd  http.Handler
}

func newUploads(cfg Config) (*uploads, error) {
	u := &uploads{store: cfg.Store, dir: cfg.UploadDir, log: cfg.Log}
	composer := tus.NewStoreComposer()
	files := newStaging(cfg.UploadDir)
	composer.UseCore(files)
	composer.UseTerminater(files)
	composer.UseLocker(files.locks)
	h, err := tus.NewHandler(tus.Config{
		StoreComposer:              composer,
		BasePath:                   uploadsPath,
		MaxSize:                    cfg.MaxUpload,
		DisableDownload:            true,
		DisableConcatenation:       true,
		Cors:                       &tus.CorsConfig{Disable: true},
		Logger:                     tusLogger(cfg.Log),
		PreUploadCreateCallback:    u.create,
		PreFinishResponseCallback:  u.finish,
		PreUploadTerminateCallback: u.terminate,
	})
	if err != nil {
		return nil, fault.Wrap(err, fault.Internal, "api.newUploads", "")
	}
	u.tusd = http.StripPrefix(uploadsPath, h)
	return u, nil
}

// handle is the one route of the protocol.
func (u *uploads) handle(c echo.Context) error {
	r := c.Request()
	c.Response().Header().Set("Tus-Resumable", tusVersion)
	if r.Method != http.MethodOptions && r.Header.Get("Tus-Resumable") != tusVersion {
		return &refusal{status: http.StatusPreconditionFailed, header: map[string]string{"Tus-Version": tusVersion},
			detail: "This server speaks tus 1.0.0. Send the header Tus-Resumable: 1.0.0."}
	}
	if r.Method == http.MethodPatch && r.Header.Get(echo.HeaderContentType) != chunkType {
		return &refusal{status: http.StatusUnsupportedMediaType, detail: "Send the bytes as " + chunkType + "."}
	}
	if id := c.Param("tus_id"); id != "" {
		row, err := u.row(r.Context(), id)
		if err != nil {
			return err
		}
		if row.State != tagging.UploadOpen {
			return u.closed(c, row)
		}
	}
	return u.pass(c)
}

// row is the viewer's own upload. If all its bytes are there but the call that
// said so was lost, it is said now: tusd says it only once.
func (u *uploads) row(ctx context.Context, id string) (tagging.Upload, error) {
	v := viewerOf(ctx)
	row, err := u.store.UploadByTus(ctx, v, id)
	if err != nil || row.State != tagging.UploadOpen {
		return row, err
	}
	info, err := os.Stat(filepath.Join(u.dir, filepath.Base(row.TusID)))
	if err != nil || info.Size() != row.Size {
		return row, nil // tusd says what there is to say
	}
	if err := u.store.MarkLanded(ctx, id); err != nil {
		return row, err
	}
	return u.store.UploadByTus(ctx, v, id)
}

// closed answers for an upload of which the bytes are no longer here, because
// they have become a recording, or are about to. To the client it is a whole
// upload: one that never heard the last answer finds it so and is content.
func (u *uploads) closed(c echo.Context, row tagging.Upload) error {
	if c.Request().Method == http.MethodDelete {
		if err := u.drop(c.Request().Context(), row); err != nil {
			return err
		}
		u.remove(c.Request().Context(), row.TusID)
		return c.NoContent(http.StatusNoContent)
	}
	if row.State == tagging.UploadFailed {
		return &refusal{status: http.StatusGone, detail: cmp.Or(row.Problem, "This upload came to nothing. Upload the file again.")}
	}
	h, size := c.Response().Header(), strconv.FormatInt(row.Size, 10)
	if c.Request().Method == http.MethodHead {
		h.Set("Upload-Offset", size)
		h.Set("Upload-Length", size)
		h.Set(echo.HeaderCacheControl, "no-store")
		return c.NoContent(http.StatusOK)
	}
	if c.Request().Header.Get("Upload-Offset") != size {
		return &refusal{status: http.StatusConflict, detail: tusRefusals["ERR_MISMATCHED_OFFSET"]}
	}
	h.Set("Upload-Offset", size)
	return c.NoContent(http.StatusNoContent)
}

// pass hands a request to tusd and turns what it refuses into a problem.
func (u *uploads) pass(c echo.Context) error {
	r := c.Request()
	r.Header.Del(echo.HeaderXHTTPMethodOverride) // seen to before routing; tusd would do it again, past the checks
	held := &heldFault{}
	w := &tusWriter{refusing{ResponseWriter: c.Response()}}
	u.tusd.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), heldKey{}, held)))
	if held.err != nil {
		return held.err
	}
	if w.status == 0 {
		return nil
	}
	code, _, _ := strings.Cut(string(w.body), ":")
	if code == "ERR_UPLOAD_INTERRUPTED" {
		w.status = http.StatusLocked // at tusd's 400 clients give up, though it may be their own broken request that came late
	}
	detail := cmp.Or(tusRefusals[code], refusals[w.status])
	if detail == "" && w.status >= http.StatusInternalServerError {
		return fault.Wrap(errors.New(string(w.body)), fault.Internal, "api.uploads", "")
	}
	return &refusal{status: w.status, detail: detail}
}

// tusRefusals are our words for tusd's.
var tusRefusals = map[string]string{
	"ERR_MAX_SIZE_EXCEEDED":     "The file is larger than this server takes. Cut it into parts, or ask whoever runs the server.",
	"ERR_UPLOAD_SIZE_EXCEEDED":  "More bytes came than the upload was to have. Begin the upload again.",
	"ERR_INVALID_UPLOAD_LENGTH": "Say how long the file is, in the header Upload-Length.",
	"ERR_NOT_IMPLEMENTED":       "Say how long the file is, in the header Upload-Length.",
	"ERR_INVALID_OFFSET":        "Say where the bytes belong, in the header Upload-Offset.",
	"ERR_MISMATCHED_OFFSET":     "The bytes don't follow on what is here. Ask with HEAD how far the upload is and go on from there.",
	"ERR_UPLOAD_NOT_FOUND":      "There is no such upload. Begin it again.",
	"ERR_UPLOAD_LOCKED":         "Another connection is sending this file. Wait until it ends.",
	"ERR_LOCK_TIMEOUT":          "Another connection is sending this file. Wait until it ends.",
	"ERR_UPLOAD_INTERRUPTED":    "Another connection took this upload over. What came is kept; go on from there.",
	"ERR_UNEXPECTED_EOF":        "The connection broke. What came is kept; go on from there.",
	"ERR_READ_TIMEOUT":          "The connection fell silent. What came is kept; go on from there.",
	"ERR_CONNECTION_RESET":      "The connection broke. What came is kept; go on from there.",
	"ERR_SERVER_SHUTDOWN":       "The server is stopping. What came is kept; go on in a minute.",
}

// tusWriter is refusing, and makes the new upload's address relative: behind
// a proxy tusd can't know the address by which the client came.
type tusWriter struct{ refusing }

func (w *tusWriter) WriteHeader(status int) {
	if at := w.Header().Get(echo.HeaderLocation); at != "" {
		if u, err := url.Parse(at); err == nil {
			w.Header().Set(echo.HeaderLocation, u.EscapedPath())
		}
	}
	w.refusing.WriteHeader(status)
}

// create checks what is about to come and writes its row before tusd makes
// the file, so that no file is without a row and no finish can be lost.
func (u *uploads) create(hook tus.HookEvent) (tus.HTTPResponse, tus.FileInfoChanges, error) {
	ctx, meta := hook.Context, hook.Upload.MetaData
	session, err := strconv.ParseInt(meta["session"], 10, 64)
	if err != nil {
		return tus.HTTPResponse{}, tus.FileInfoChanges{}, hold(ctx, badMetadata("session", "must be the session's id"))
	}
	camera := cmp.Or(media.Camera(meta["camera"]), media.OtherCamera)
	if !camera.Valid() {
		return tus.HTTPResponse{}, tus.FileInfoChanges{}, hold(ctx, badMetadata("camera", "must be side-on, behind-the-arm or other"))
	}
	if err := room(u.dir, hook.Upload.Size); err != nil {
		return tus.HTTPResponse{}, tus.FileInfoChanges{}, hold(ctx, err)
	}
	v, id := viewerOf(ctx), rand.Text()
	_, err = u.store.OpenUpload(ctx, v, tagging.Upload{TusID: id, SessionID: session, AccountID: v.AccountID,
		FileName: fileName(meta["filename"]), Size: hook.Upload.Size, Camera: camera, State: tagging.UploadOpen})
	if err != nil {
		return tus.HTTPResponse{}, tus.FileInfoChanges{}, hold(ctx, err)
	}
	return tus.HTTPResponse{}, tus.FileInfoChanges{ID: id}, nil
}

func badMetadata(name, reason string) error {
	return fault.New(fault.Invalid, "api.upload", "The upload could not begin: "+name+" "+reason+".", fault.Field{Name: name, Reason: reason})
}

// finish marks an upload whole. If that fails the client hears so; whether it
// asks again or not, row and the sweep see to it later.
func (u *uploads) finish(hook tus.HookEvent) (tus.HTTPResponse, error) {
	return tus.HTTPResponse{}, hold(hook.Context, u.store.MarkLanded(hook.Context, hook.Upload.ID))
}

// terminate forgets the row before tusd removes the file.
func (u *uploads) terminate(hook tus.HookEvent) (tus.HTTPResponse, error) {
	row, err := u.store.UploadByTus(hook.Context, viewerOf(hook.Context), hook.Upload.ID)
	if err == nil {
		err = u.drop(hook.Context, row)
	}
	return tus.HTTPResponse{}, hold(hook.Context, err)
}

func (u *uploads) drop(ctx context.Context, row tagging.Upload) error {
	_, err := u.store.DropUpload(ctx, viewerOf(ctx), row.ID)
	return err
}

// remove deletes an upload's files. What can't be removed now the sweep will.
func (u *uploads) remove(ctx context.Context, tusID string) {
	path := filepath.Join(u.dir, filepath.Base(tusID))
	for _, p := range []string{path, path + ".info"} {
		if err := os.Remove(p); err != nil && !errors.Is(err, os.ErrNotExist) {
			u.log.WarnContext(ctx, "upload not removed", "err", err)
		}
	}
}
