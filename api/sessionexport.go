package api

import (
	"context"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"netreel/media/blob"
	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/export"
)

// The routes by which a session is taken away. Who people are is left out
// unless it is asked for with names=true.

func (s *Server) sessionTable(c echo.Context) error {
	return s.sessionText(c, "text/csv; charset=utf-8; header=present", ".csv", func(w io.Writer, out export.Session) error {
		return export.CSV(w, out.Playlist(), out.Words)
	})
}

func (s *Server) sessionAnnotations(c echo.Context) error {
	const mediaType = `application/ld+json; profile="http://www.w3.org/ns/anno.jsonld"`
	return s.sessionText(c, mediaType, ".jsonld", func(w io.Writer, out export.Session) error {
		return export.Annotations(w, out, out.Originals)
	})
}

// sessionCaptions is on the session clock, with recording=ID on that
// recording's.
func (s *Server) sessionCaptions(c echo.Context) error {
	recording, err := queryInt(c.QueryParams(), "recording", 0)
	if err != nil {
		return err
	}
	return s.sessionText(c, "text/vtt; charset=utf-8", ".vtt", func(w io.Writer, out export.Session) error {
		if recording == 0 {
			return export.WebVTT(w, out.Title, out.SessionCues())
		}
		if !slices.ContainsFunc(out.Lane.Recordings, func(r tagging.Recording) bool { return r.ID == int64(recording) }) {
			return fault.New(fault.NotFound, "api.sessionCaptions", "This session has no such recording.")
		}
		return export.WebVTT(w, out.Title, out.RecordingCues(int64(recording)))
	})
}

func (s *Server) sessionText(c echo.Context, mediaType, ext string, write func(io.Writer, export.Session) error) error {
	out, err := s.wholeSession(c)
	if err != nil {
		return err
	}
	var b strings.Builder
	if err := write(&b, out); err != nil {
		return err
	}
	return sendText(c, mediaType, out.Title+ext, b.String())
}

// sessionArchive sends everything as it is read. Once it has begun it can't
// say that it failed: it breaks the connection off, so that nobody takes half
// of it for the whole.
func (s *Server) sessionArchive(c echo.Context) error {
	out, err := s.wholeSession(c)
	if err != nil {
		return err
	}
	clips, err := queryYes(c, "clips")
	if err != nil {
		return err
	}
	ctx := c.Request().Context()
	var open export.OpenClip
	if clips {
		open = func(clip tagging.Clip, which string) (io.ReadCloser, error) {
			file, _, err := s.blobs.Open(ctx, blob.ClipKey(clip.ID, clip.Revision, which))
			return file, err
		}
	}
	h := c.Response().Header()
	h.Set(echo.HeaderContentType, "application/zip")
	h.Set(echo.HeaderCacheControl, "no-store")
	h.Set(echo.HeaderContentDisposition, savedAs(out.Title+".zip"))
	c.Response().WriteHeader(http.StatusOK)
	if err := export.Archive(c.Response(), out, time.Now(), open); err != nil {
		s.log.WarnContext(ctx, "archive broken off", "session", out.ID, "err", err)
		panic(http.ErrAbortHandler)
	}
	return nil
}

// wholeSession gathers what is exported of the session in the address.
func (s *Server) wholeSession(c echo.Context) (export.Session, error) {
	var in byID
	if err := in.bind(c); err != nil {
		return export.Session{}, err
	}
	names, err := queryYes(c, "names")
	if err != nil {
		return export.Session{}, err
	}
	ctx := c.Request().Context()
	out, err := s.gather(ctx, viewerOf(ctx), in.ID)
	out.Home, out.Names = s.publicURL, names
	return out, err
}

func (s *Server) gather(ctx context.Context, v tagging.Viewer, session int64) (out export.Session, err error) {
	if out.Session, err = s.store.Session(ctx, v, session); err != nil {
		return out, err
	}
	if out.Lane, err = s.store.Lane(ctx, v, session); err != nil {
		return out, err
	}
	if out.Balls, err = s.store.SessionBalls(ctx, v, session); err != nil {
		return out, err
	}
	out.Words, err = s.store.Vocabulary(ctx, v, 0)
	return out, err
}

// queryYes reads true or false from the address; without one it is false.
func queryYes(c echo.Context, name string) (bool, error) {
	asked := c.QueryParam(name)
	if asked == "" {
		return false, nil
	}
	yes, err := strconv.ParseBool(asked)
	if err != nil {
		return false, fault.New(fault.Invalid, "api.query", name+" must be true or false.",
			fault.Field{Name: name, Reason: "must be true or false"})
	}
	return yes, nil
}
