package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/google/uuid"

	"netreel/db"
	"netreel/media"
	"netreel/media/fault"
	"netreel/tagging"
)

// runImport brings in files that lie on this machine, the way an upload does:
// a running server works on them; without one this process does, and ends when
// they are ready.
func runImport(ctx context.Context, c call) error {
	fs, finish := newFlags("import FILE...", c.getenv, c.stderr)
	session := fs.Int64("session", 0, "`number` of the session, as in its page's address")
	camera := fs.String("camera", string(media.SideOn), "where the camera stood: side-on, behind-the-arm or other")
	cfg, err := finish(c.args)
	switch {
	case err != nil:
		return err
	case fs.NArg() == 0 || *session == 0:
		return fault.New(fault.Invalid, "import", "Say which files and which session: netreel import FILE... --session 12")
	case !media.Camera(*camera).Valid():
		return fault.New(fault.Invalid, "import", "--camera must be side-on, behind-the-arm or other.")
	}
	im := importer{dir: cfg.uploads(), session: *session, camera: media.Camera(*camera), out: c.stdout}

	own := cfg
	own.Listen, own.PublicURL = "127.0.0.1:0", ""
	app, err := New(ctx, own, c.log)
	if errors.Is(err, errHeld) {
		return withStore(ctx, cfg, c.log, func(s *db.Store, _ string) error { return im.run(ctx, s, fs.Args()) })
	}
	if err != nil {
		return err
	}
	return app.runWhile(ctx, func(ctx context.Context) error { return im.run(ctx, app.store, fs.Args()) })
}

// importer brings files into one session.
type importer struct {
	dir     string // where uploads land
	session int64
	camera  media.Camera
	out     io.Writer
}

// run brings all files in before it waits for any. A file that comes to
// nothing is told and does not stop the rest.
func (im importer) run(ctx context.Context, s *db.Store, files []string) error {
	v, err := s.StaffOf(ctx, im.session)
	if err != nil {
		return err
	}
	bad := 0
	tell := func(file, what string) { fmt.Fprintf(im.out, "%s: %s\n", filepath.Base(file), what) }
	uploads := map[string]tagging.Upload{}
	for _, file := range files {
		u, err := im.stage(ctx, s, v, file)
		if err != nil {
			bad++
			tell(file, messageOf(err))
			continue
		}
		uploads[file] = u
	}
	for _, file := range files {
		u, ok := uploads[file]
		if !ok {
			continue
		}
		what, err := im.wait(ctx, s, v, u)
		if ctx.Err() != nil {
			return context.Cause(ctx)
		}
		if err != nil {
			bad++
			what = messageOf(err)
		}
		tell(file, what)
	}
	if bad > 0 {
		return fault.New(fault.Unsupported, "import", fmt.Sprintf("%d of %d files came to nothing; see above.", bad, len(files)))
	}
	return nil
}

// messageOf is an error's text for the person, or all of it.
func messageOf(err error) string {
	if m := fault.Message(err); m != "" {
		return m
	}
	return err.Error()
}

// stage copies a file to where uploads land and says that it is there. The
// original is only read.
func (im importer) stage(ctx context.Context, s *db.Store, v tagging.Viewer, file string) (_ tagging.Upload, err error) {
	in, err := os.Open(file)
	if err != nil {
		return tagging.Upload{}, fault.Wrap(err, fault.NotFound, "import", "Can't read this file: "+err.Error())
	}
	defer func() { _ = in.Close() }()
	info, err := in.Stat()
	if err != nil || !info.Mode().IsRegular() {
		return tagging.Upload{}, fault.Wrap(errors.Join(err, errors.New("not a file")), fault.Invalid, "import", "This is not a file.")
	}
	id := "import-" + uuid.NewString()
	u, err := s.OpenUpload(ctx, v, tagging.Upload{
		TusID: id, SessionID: im.session, AccountID: v.AccountID, FileName: filepath.Base(file), Size: info.Size(), Camera: im.camera,
	})
	if err != nil {
		return u, err
	}
	out, err := os.OpenFile(filepath.Join(im.dir, id), os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o640)
	if err == nil {
		_, err = io.Copy(out, in)
		err = errors.Join(err, out.Sync(), out.Close())
	}
	if err != nil {
		msg := "This file could not be copied: " + err.Error() + ". Make room and import it again."
		return u, errors.Join(fault.Wrap(err, fault.Unavailable, "import", msg), s.FailUpload(ctx, u.ID, msg))
	}
	return u, s.MarkLanded(ctx, id)
}

// wait waits until an upload has become a recording that is ready.
func (im importer) wait(ctx context.Context, s *db.Store, v tagging.Viewer, u tagging.Upload) (what string, err error) {
	err = poll(ctx, func() (bool, error) {
		if u, err = s.UploadForJob(ctx, u.ID); err != nil {
			return false, err
		}
		switch u.State {
		case tagging.UploadFailed:
			return false, fault.New(fault.Unsupported, "import", u.Problem)
		case tagging.UploadDuplicate:
			what = "is in this session already"
			return true, nil
		case tagging.UploadAdopted:
		default:
			return false, nil
		}
		r, err := s.Recording(ctx, v, u.RecordingID)
		if err != nil {
			return false, err
		}
		switch r.State {
		case tagging.Failed, tagging.Cancelled:
			return false, fault.New(fault.Unsupported, "import", r.Problem)
		case tagging.Ready:
			what = fmt.Sprintf("recording %d is ready", r.ID)
			return true, nil
		}
		return false, nil
	})
	return what, err
}
