package api

import (
	"fmt"
	"mime"
	"net/http"
	"path"
	"strings"
	"unicode"

	"github.com/labstack/echo/v4"

	"netreel/media/blob"
	"netreel/media/fault"
	"netreel/tagging"
)

// How long a browser may keep a file. A clip's revision is part of its
// address, so what is there never changes; of a share link nothing may be kept
// without asking whether the link still holds.
const (
	cacheForEver = "private, max-age=31536000, immutable"
	askAgain     = "private, no-cache"
)

// serveClip sends one of a clip's files: the one asked for, or the best one.
func (s *Server) serveClip(c echo.Context, clip tagging.Clip, cache string) error {
	which, file := clip.Best()
	if asked := c.QueryParam("which"); asked != "" {
		if asked != "quick" && asked != "smooth" {
			return fault.New(fault.Invalid, "api.serveClip", "which must be quick or smooth.",
				fault.Field{Name: "which", Reason: "must be quick or smooth"})
		}
		which = asked
	} else if file == nil {
		return fault.New(fault.NotFound, "api.serveClip", "This clip is not cut yet. It will be there in a moment.")
	}
	revision, cache, err := revisionOf(c, clip, cache)
	if err != nil {
		return err
	}
	return s.serveBlob(c, blob.ClipKey(clip.ID, revision, which), "video/mp4", cache)
}

// servePoster sends the picture at contact, made now if it is not there.
func (s *Server) servePoster(c echo.Context, clip tagging.Clip, cache string) error {
	revision, cache, err := revisionOf(c, clip, cache)
	if err != nil {
		return err
	}
	key := blob.PosterKey(clip.ID, revision)
	if revision == clip.Revision && !clip.HasPoster {
		if key, err = s.posters.Poster(c.Request().Context(), clip.ID); err != nil {
			return err
		}
	}
	return s.serveBlob(c, key, "image/jpeg", cache)
}

// revisionOf is the revision of a clip that is asked for. An address without
// one is that of whatever is current, so it can't be kept.
func revisionOf(c echo.Context, clip tagging.Clip, cache string) (int, string, error) {
	q := c.QueryParams()
	if !q.Has("revision") {
		return clip.Revision, askAgain, nil
	}
	revision, err := queryInt(q, "revision", 0)
	return revision, cache, err
}

// serveOriginal sends a recording's file as it came in. Its name and type are
// a stranger's: it is always saved, never shown as a page.
func (s *Server) serveOriginal(c echo.Context, r tagging.Recording) error {
	mediaType, ext := containerType(r)
	c.Response().Header().Set(echo.HeaderContentDisposition, savedAs(r.Title+ext))
	return s.serveBlob(c, blob.OriginalKey(r.SHA256), mediaType, cacheForEver)
}

// containerType is the media type of an original and the end of its name, by
// what the probe found in it.
func containerType(r tagging.Recording) (mediaType, ext string) {
	if r.Probe != nil {
		for _, known := range []struct{ container, mediaType, ext string }{
			{"mp4", "video/mp4", ".mp4"}, {"webm", "video/x-matroska", ".mkv"}, {"mpegts", "video/mp2t", ".ts"}, {"avi", "video/x-msvideo", ".avi"},
		} {
			if strings.Contains(r.Probe.Container, known.container) {
				return known.mediaType, known.ext
			}
		}
	}
	return echo.MIMEOctetStream, ""
}

// serveBlob sends a stored file, whole or in parts (RFC 9110, section 14).
func (s *Server) serveBlob(c echo.Context, key, contentType, cache string) error {
	file, info, err := s.blobs.Open(c.Request().Context(), key)
	if fault.KindOf(err) == fault.NotFound {
		return fault.Wrap(err, fault.NotFound, "api.serveBlob", "This file is not there any more, or not yet. Load the page again.")
	}
	if err != nil {
		return err
	}
	defer func() { _ = file.Close() }()
	h := c.Response().Header()
	h.Set(echo.HeaderContentType, contentType)
	h.Set(echo.HeaderCacheControl, cache)
	// A strong validator, so that If-Range works: a key's file is only ever replaced whole.
	h.Set("Etag", fmt.Sprintf(`"%x-%x"`, info.Size, info.ModTime.UnixNano()))
	w := &refusing{ResponseWriter: c.Response()}
	http.ServeContent(w, c.Request(), "", info.ModTime, file)
	return w.refused()
}

// refusing passes an answer on but keeps back a refusal, so that it leaves as
// a problem like every other.
type refusing struct {
	http.ResponseWriter
	status int    // of the refusal; 0 if there is none
	body   []byte // its first bytes
}

// Unwrap lets http.ResponseController find the connection.
func (w *refusing) Unwrap() http.ResponseWriter { return w.ResponseWriter }

// WriteHeader keeps a status of 400 and above back.
func (w *refusing) WriteHeader(status int) {
	if status >= http.StatusBadRequest {
		w.status = status
		return
	}
	w.ResponseWriter.WriteHeader(status)
}

// Write keeps back what belongs to a refusal.
func (w *refusing) Write(b []byte) (int, error) {
	if w.status == 0 {
		return w.ResponseWriter.Write(b)
	}
	w.body = append(w.body, b[:min(len(b), 1024-min(len(w.body), 1024))]...)
	return len(b), nil
}

// refused is the refusal as an error, nil if there was none.
func (w *refusing) refused() error {
	if w.status == 0 {
		return nil
	}
	return &refusal{status: w.status, detail: refusals[w.status]}
}

// savedAs is a Content-Disposition by which a browser saves a file under a
// name that a person gave (RFC 6266). The name holds no folder and nothing
// that a file system or a terminal would take for an order.
func savedAs(name string) string {
	return mime.FormatMediaType("attachment", map[string]string{"filename": fileName(name)})
}

// maxFileName is the longest file name kept, in bytes: most file systems' limit.
const maxFileName = 200

// fileName makes any text a plain file name.
func fileName(name string) string {
	name = strings.ToValidUTF8(name, "_")
	name = strings.TrimPrefix(path.Base("/"+strings.ReplaceAll(name, `\`, "/")), "/") // of a path its last part
	name = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsControl(r), unicode.Is(unicode.Bidi_Control, r), strings.ContainsRune(`/\:*?"<>|`, r):
			return '_'
		}
		return r
	}, name)
	for len(name) > maxFileName {
		ext := path.Ext(name)
		if len(ext) > 16 {
			ext = ""
		}
		stem := []rune(strings.TrimSuffix(name, ext))
		name = string(stem[:len(stem)-1]) + ext
	}
	if name = strings.Trim(name, " ."); name == "" {
		return "film"
	}
	return name
}
