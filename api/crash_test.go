package api_test

import (
	"context"
	"errors"
	"io"
	"net/http"
	"os"
	"path"
	"path/filepath"
	"strconv"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/api"
	"netreel/media/fault"
	"netreel/tagging"
)

// shaky is a store whose database goes away when an upload ends.
type shaky struct {
	api.Store
	away *atomic.Bool
}

func (s shaky) MarkLanded(ctx context.Context, tusID string) error {
	if s.away.Load() {
		return fault.New(fault.Unavailable, "test", "The database is away.")
	}
	return s.Store.MarkLanded(ctx, tusID)
}

// uploading is an upload as its client sees it.
type uploading struct {
	*world
	at      string
	content []byte
}

// offset asks how far the upload is; -1 while the server can't say.
func (u *uploading) offset() int {
	head := u.coach.tus(http.MethodHead, u.at, "")
	if head.status == http.StatusServiceUnavailable {
		return -1
	}
	n, err := strconv.Atoi(head.is(http.StatusOK).header.Get("Upload-Offset"))
	require.NoError(u.t, err)
	return n
}

// beginAgain begins an upload as a client does, which asks again when the server
// can't: what ends a broken upload may also end what comes next on its
// connection.
func (c caller) beginAgain(name string, size int) string {
	c.w.t.Helper()
	for range 3 {
		a := c.tus(http.MethodPost, "/api/uploads/", "", "Upload-Length", strconv.Itoa(size), "Upload-Metadata", metadata(name, c.w.ids.session))
		if a.status != http.StatusServiceUnavailable {
			return a.is(http.StatusCreated).header.Get("Location")
		}
	}
	c.w.t.Fatal("the upload could not be begun")
	return ""
}

// sending is a request that sends the rest of a file of so many bytes as it is read.
func (w *world) sending(at string, from, size int, rest io.Reader) *http.Request {
	request, err := http.NewRequestWithContext(w.t.Context(), http.MethodPatch, w.http.URL+at, rest)
	require.NoError(w.t, err)
	request.ContentLength = int64(size - from)
	request.Header.Set("Tus-Resumable", "1.0.0")
	request.Header.Set("Upload-Offset", strconv.Itoa(from))
	request.Header.Set("Content-Type", "application/offset+octet-stream")
	return request
}

// breaking sends bytes and lets the connection break before all are there.
func (u *uploading) breaking(from, until int) {
	r, w := io.Pipe()
	go func() {
		_, _ = w.Write(u.content[from:until])
		_ = w.CloseWithError(errors.New("the train went into a tunnel"))
	}()
	response, err := u.coach.client.Do(u.sending(u.at, from, len(u.content), r))
	if err == nil {
		_ = response.Body.Close()
	}
}

// TestUploadsUnderCrashes sends files in random parts over connections that
// break, to servers that are started anew and whose database goes away as the
// last byte comes. The client does what the protocol says: it asks how far the
// upload is and goes on from there. However it went, the file is whole and its
// row says so.
func TestUploadsUnderCrashes(t *testing.T) {
	t.Parallel()
	var away atomic.Bool
	w := newWorld(t, func(c *api.Config) { c.Store = shaky{c.Store, &away} }).fill()
	rapid.Check(t, func(rt *rapid.T) {
		content := rapid.SliceOfN(rapid.Byte(), 1, 4000).Draw(rt, "content")
		away.Store(false)
		u := &uploading{w, w.coach.beginAgain("net.mp4", len(content)), content}
		for range rapid.IntRange(0, 8).Draw(rt, "mishaps") {
			at := u.offset()
			if at < 0 {
				away.Store(false)
				continue
			}
			until := rapid.IntRange(at, len(content)).Draw(rt, "until")
			switch rapid.SampledFrom([]string{"send", "break", "restart", "away", "back", "wrong"}).Draw(rt, "what") {
			case "send":
				u.coach.patch(u.at, at, string(content[at:until]))
			case "break":
				if until < len(content) {
					u.breaking(at, until)
				}
			case "restart":
				u.restart()
			case "away":
				away.Store(true)
			case "back":
				away.Store(false)
			case "wrong":
				u.coach.patch(u.at, len(content)+1, "").is(http.StatusConflict)
			}
		}
		away.Store(false)
		// A broken request may reach the server after the question how far it is; then the answer was too small, or
		// it takes over what comes next, and the client asks again.
		for at := u.offset(); at < len(content); at = u.offset() {
			if at < 0 {
				continue
			}
			require.Contains(rt, []int{http.StatusNoContent, http.StatusConflict, http.StatusLocked, http.StatusServiceUnavailable}, u.coach.patch(u.at, at, string(content[at:])).status)
		}
		u.coach.patch(u.at, len(content), "").is(http.StatusNoContent)
		require.Equal(rt, tagging.UploadLanded, w.upload(u.at).State)
		got, err := os.ReadFile(filepath.Join(w.uploads, path.Base(u.at)))
		require.NoError(rt, err)
		require.Equal(rt, content, got)
	})
}
