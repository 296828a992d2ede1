package api_test

import (
	"encoding/base64"
	"fmt"
	"io"
	"net/http"
	"os"
	"path"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/api"
	"netreel/tagging"
)

// The cases are those of the tus resumable upload protocol 1.0.0 (tus.io,
// 2016-03-25), sections "Core Protocol", "Creation" and "Termination".

func encode(s string) string { return base64.StdEncoding.EncodeToString([]byte(s)) }

func metadata(name string, session int64) string {
	return fmt.Sprintf("filename %s,session %s,camera %s", encode(name), encode(fmt.Sprint(session)), encode("side-on"))
}

// tus sends a request with the header that every one but OPTIONS has.
func (c caller) tus(method, at string, body string, header ...string) answer {
	c.w.t.Helper()
	return c.do(method, at, []byte(body), append([]string{"Tus-Resumable", "1.0.0"}, header...)...)
}

func (c caller) begin(name string, size int) string {
	c.w.t.Helper()
	a := c.tus(http.MethodPost, "/api/uploads/", "", "Upload-Length", fmt.Sprint(size), "Upload-Metadata", metadata(name, c.w.ids.session)).is(http.StatusCreated)
	return a.header.Get("Location")
}

func (c caller) patch(at string, offset int, body string) answer {
	c.w.t.Helper()
	return c.tus(http.MethodPatch, at, body, "Content-Type", "application/offset+octet-stream", "Upload-Offset", fmt.Sprint(offset))
}

func (w *world) upload(at string) tagging.Upload {
	w.t.Helper()
	list, err := w.store.Uploads(w.t.Context(), w.staff(), w.ids.session)
	require.NoError(w.t, err)
	for _, u := range list {
		if u.TusID == path.Base(at) {
			return u
		}
	}
	w.t.Fatalf("no upload %s", at)
	return tagging.Upload{}
}

func TestUploadInParts(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	at := w.coach.begin("net 3.mp4", 11)
	require.Regexp(t, `^/api/uploads/[A-Z0-9]+$`, at, "relative, so that it holds behind a proxy")
	first := w.upload(at)
	assert.Equal(t, tagging.UploadOpen, first.State, "the row is there before the first byte")
	assert.Equal(t, "net 3.mp4", first.FileName)

	head := w.coach.tus(http.MethodHead, at, "").is(http.StatusOK)
	assert.Equal(t, "0", head.header.Get("Upload-Offset"))
	assert.Equal(t, "11", head.header.Get("Upload-Length"))
	assert.Equal(t, "no-store", head.header.Get("Cache-Control"))
	assert.Equal(t, "1.0.0", head.header.Get("Tus-Resumable"))

	assert.Equal(t, "6", w.coach.patch(at, 0, "hello ").is(http.StatusNoContent).header.Get("Upload-Offset"))
	assert.Equal(t, "6", w.coach.tus(http.MethodHead, at, "").header.Get("Upload-Offset"))
	assert.Equal(t, "11", w.coach.patch(at, 6, "world").is(http.StatusNoContent).header.Get("Upload-Offset"))
	assert.Equal(t, tagging.UploadLanded, w.upload(at).State)
	got, err := os.ReadFile(filepath.Join(w.uploads, path.Base(at)))
	require.NoError(t, err)
	assert.Equal(t, "hello world", string(got))
}

func TestTusRefusals(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	at := w.coach.begin("a.mp4", 10)
	w.coach.patch(at, 0, "abc").is(http.StatusNoContent)
	chunk := []string{"Content-Type", "application/offset+octet-stream"}
	for _, tc := range []struct {
		name   string
		call   func() answer
		status int
	}{
		{"409: the offset is not the upload's", func() answer { return w.coach.patch(at, 2, "x") }, http.StatusConflict},
		{"409: beyond what came", func() answer { return w.coach.patch(at, 7, "x") }, http.StatusConflict},
		{"412: no version", func() answer {
			return w.coach.do(http.MethodPatch, at, []byte("x"), append(chunk, "Upload-Offset", "3")...)
		}, http.StatusPreconditionFailed},
		{"412: another version", func() answer { return w.coach.do(http.MethodPost, "/api/uploads/", nil, "Tus-Resumable", "0.2.2") }, http.StatusPreconditionFailed},
		{"415: another type", func() answer {
			return w.coach.tus(http.MethodPatch, at, "x", "Content-Type", "text/plain", "Upload-Offset", "3")
		}, http.StatusUnsupportedMediaType},
		{"404: unknown", func() answer { return w.coach.patch("/api/uploads/nosuch", 0, "x") }, http.StatusNotFound},
		{"404: somebody else's", func() answer { return w.analyst.patch(at, 3, "x") }, http.StatusNotFound},
		{"404: to remove, somebody else's", func() answer { return w.analyst.tus(http.MethodDelete, at, "") }, http.StatusNotFound},
		{"404: out of the folder", func() answer { return w.coach.patch("/api/uploads/..%2F..%2Fetc%2Fpasswd", 0, "x") }, http.StatusNotFound},
		{"400: no offset", func() answer { return w.coach.tus(http.MethodPatch, at, "x", chunk...) }, http.StatusBadRequest},
		{"413: more than was said", func() answer { return w.coach.patch(at, 3, strings.Repeat("x", 8)) }, http.StatusRequestEntityTooLarge},
		{"413: more than is taken", func() answer {
			return w.coach.tus(http.MethodPost, "/api/uploads/", "", "Upload-Length", "1048577", "Upload-Metadata", metadata("a", w.ids.session))
		}, http.StatusRequestEntityTooLarge},
		{"400: no length", func() answer {
			return w.coach.tus(http.MethodPost, "/api/uploads/", "", "Upload-Metadata", metadata("a", w.ids.session))
		}, http.StatusBadRequest},
		{"501: length later", func() answer {
			return w.coach.tus(http.MethodPost, "/api/uploads/", "", "Upload-Defer-Length", "1", "Upload-Metadata", metadata("a", w.ids.session))
		}, http.StatusNotImplemented},
		{"400: no session", func() answer { return w.coach.tus(http.MethodPost, "/api/uploads/", "", "Upload-Length", "3") }, http.StatusBadRequest},
		{"400: an unknown camera", func() answer {
			return w.coach.tus(http.MethodPost, "/api/uploads/", "", "Upload-Length", "3", "Upload-Metadata",
				"session "+encode(fmt.Sprint(w.ids.session))+",camera "+encode("drone"))
		}, http.StatusBadRequest},
		{"404: another squad's session", func() answer {
			return w.strangerCoach.tus(http.MethodPost, "/api/uploads/", "", "Upload-Length", "3", "Upload-Metadata", metadata("a", w.ids.session))
		}, http.StatusNotFound},
		{"405: GET is not of the protocol", func() answer { return w.coach.get(at) }, http.StatusMethodNotAllowed},
	} {
		t.Run(tc.name, func(t *testing.T) {
			a := tc.call()
			detail := a.problem(tc.status)
			assert.NotContains(t, detail, "ERR_")
			assert.NotContains(t, detail, w.uploads)
			if tc.status == http.StatusPreconditionFailed {
				assert.Equal(t, "1.0.0", a.header.Get("Tus-Version"), `"the response MUST include the Tus-Version header"`)
			}
		})
	}
	head := w.coach.tus(http.MethodHead, at, "").is(http.StatusOK)
	assert.Equal(t, "3", head.header.Get("Upload-Offset"), "what was refused has changed nothing")
	gone := w.coach.tus(http.MethodHead, "/api/uploads/nosuch", "").is(http.StatusNotFound)
	assert.Empty(t, gone.header.Get("Upload-Offset"), `"the server ... MUST return ... without the Upload-Offset header"`)
}

func TestTusOptions(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	a := w.nobody.do(http.MethodOptions, "/api/uploads/", nil).is(http.StatusOK)
	assert.Equal(t, "1.0.0", a.header.Get("Tus-Version"))
	assert.Equal(t, "1048576", a.header.Get("Tus-Max-Size"))
	assert.Equal(t, "creation,creation-with-upload,termination", a.header.Get("Tus-Extension"))
}

func TestTusTermination(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	at := w.coach.begin("a.mp4", 10)
	w.coach.patch(at, 0, "abc").is(http.StatusNoContent)
	w.coach.tus(http.MethodDelete, at, "").is(http.StatusNoContent)
	w.coach.tus(http.MethodHead, at, "").is(http.StatusNotFound)
	_, err := os.Stat(filepath.Join(w.uploads, path.Base(at)))
	assert.ErrorIs(t, err, os.ErrNotExist)
}

// TestTusMethodOverride: "X-HTTP-Method-Override ... MUST be interpreted as the
// request's method by the server".
func TestTusMethodOverride(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	at := w.coach.begin("a.mp4", 3)
	a := w.coach.tus(http.MethodPost, at, "abc", "X-HTTP-Method-Override", "PATCH", "Content-Type", "application/offset+octet-stream", "Upload-Offset", "0")
	assert.Equal(t, "3", a.is(http.StatusNoContent).header.Get("Upload-Offset"))
	w.analyst.tus(http.MethodPost, at, "", "X-HTTP-Method-Override", "DELETE").is(http.StatusNotFound)
	w.coach.tus(http.MethodPost, at, "", "X-HTTP-Method-Override", "DELETE").is(http.StatusNoContent)
}

// TestLostFinish is the crash between the last byte and the row: whoever asks
// again finds a whole upload, and it is landed.
func TestLostFinish(t *testing.T) {
	t.Parallel()
	for _, how := range []string{http.MethodHead, http.MethodPatch} {
		t.Run(how, func(t *testing.T) {
			t.Parallel()
			w := newWorld(t).fill()
			at := w.coach.begin("a.mp4", 6)
			w.coach.patch(at, 0, "abc").is(http.StatusNoContent)
			f, err := os.OpenFile(filepath.Join(w.uploads, path.Base(at)), os.O_APPEND|os.O_WRONLY, 0)
			require.NoError(t, err)
			_, err = f.WriteString("def")
			require.NoError(t, err)
			require.NoError(t, f.Close())
			require.Equal(t, tagging.UploadOpen, w.upload(at).State)
			if how == http.MethodHead {
				assert.Equal(t, "6", w.coach.tus(how, at, "").is(http.StatusOK).header.Get("Upload-Offset"))
			} else {
				w.coach.patch(at, 6, "").is(http.StatusNoContent)
			}
			assert.Equal(t, tagging.UploadLanded, w.upload(at).State)
		})
	}
}

// TestFinishedUploadIsNotSentAgain: the file has become a recording and is no
// longer staged; a client that never heard the last answer must not begin anew.
func TestFinishedUploadIsNotSentAgain(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	at := w.coach.begin("a.mp4", 3)
	w.coach.patch(at, 0, "abc").is(http.StatusNoContent)
	_, err := w.store.LandUpload(t.Context(), w.upload(at).ID, sumOf([]byte("abc")), 3)
	require.NoError(t, err)
	require.NoError(t, os.Remove(filepath.Join(w.uploads, path.Base(at))))
	assert.Equal(t, "3", w.coach.tus(http.MethodHead, at, "").is(http.StatusOK).header.Get("Upload-Offset"))
	assert.Equal(t, "3", w.coach.patch(at, 3, "").is(http.StatusNoContent).header.Get("Upload-Offset"))
	w.coach.patch(at, 0, "abc").is(http.StatusConflict)
}

func TestFailedUploadSaysWhy(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	at := w.coach.begin("a.mp4", 3)
	require.NoError(t, w.store.FailUpload(t.Context(), w.upload(at).ID, "This file is empty."))
	assert.Equal(t, "This file is empty.", w.coach.patch(at, 0, "abc").problem(http.StatusGone))
}

// TestDeadConnectionIsTakenOver: a client whose connection fell silent asks
// again over a new one, and does not wait for the old one to time out.
func TestDeadConnectionIsTakenOver(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	at := w.coach.begin("a.mp4", 10)
	body, feed := io.Pipe()
	r := w.sending(at, 0, 10, body)
	ended := make(chan int, 1)
	go func() {
		response, err := w.coach.client.Do(r)
		if err != nil {
			ended <- 0
			return
		}
		_ = response.Body.Close()
		ended <- response.StatusCode
	}()
	_, err := feed.Write([]byte("abc"))
	require.NoError(t, err)
	require.Eventually(t, func() bool {
		info, err := os.Stat(filepath.Join(w.uploads, path.Base(at)))
		return err == nil && info.Size() == 3
	}, time.Minute, time.Millisecond)
	assert.Equal(t, "3", w.coach.tus(http.MethodHead, at, "").is(http.StatusOK).header.Get("Upload-Offset"))
	assert.Equal(t, http.StatusLocked, <-ended, "it may go on, as one that a late request of its own took over")
	require.NoError(t, feed.Close())
	w.coach.patch(at, 3, "defghij").is(http.StatusNoContent)
	assert.Equal(t, tagging.UploadLanded, w.upload(at).State)
}

// TestFullDisk: a person is told what to do, and what came is kept. /dev/full
// is a file to which Linux never writes for want of room.
func TestFullDisk(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	at := w.coach.begin("a.mp4", 3)
	file := filepath.Join(w.uploads, path.Base(at))
	require.NoError(t, os.Remove(file))
	require.NoError(t, os.Symlink("/dev/full", file))
	detail := w.coach.patch(at, 0, "abc").problem(http.StatusServiceUnavailable)
	assert.Equal(t, "The server's disk is full. What came is kept: free some space on the server, then go on with the upload.", detail)
	require.NoError(t, os.Remove(file))
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	w.coach.patch(at, 0, "abc").is(http.StatusNoContent)
	assert.Equal(t, tagging.UploadLanded, w.upload(at).State)
}

// TestNoRoom: a file that can't fit is refused before it is sent, and leaves
// no row.
func TestNoRoom(t *testing.T) {
	t.Parallel()
	w := newWorld(t, func(c *api.Config) { c.MaxUpload = 0 }).fill()
	before, err := w.store.Uploads(t.Context(), w.staff(), w.ids.session)
	require.NoError(t, err)
	a := w.coach.tus(http.MethodPost, "/api/uploads/", "", "Upload-Length", fmt.Sprint(int64(1)<<60), "Upload-Metadata", metadata("a.mp4", w.ids.session))
	assert.Contains(t, a.problem(http.StatusServiceUnavailable), "There is no room for this file")
	after, err := w.store.Uploads(t.Context(), w.staff(), w.ids.session)
	require.NoError(t, err)
	assert.Len(t, after, len(before))
}

func TestHostileFileNames(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	for _, tc := range []struct{ given, kept string }{
		{"../../etc/passwd", "passwd"},
		{`C:\Users\x\net.mp4`, "net.mp4"},
		{"/", "film"},
		{"", "film"},
		{"..", "film"},
		{"a\x00b\nc.mp4", "a_b_c.mp4"},
		{"\u202Egnp.mp4", "_gnp.mp4"},
		{"<img src=x onerror=alert(1)>.mp4", "_img src=x onerror=alert(1)_.mp4"},
		{"net\xff\xfe.mp4", "net_.mp4"},
		{"Übung 3 – Zug.MOV", "Übung 3 – Zug.MOV"},
		{strings.Repeat("ж", 300) + ".mp4", strings.Repeat("ж", 98) + ".mp4"},
	} {
		at := w.coach.begin(tc.given, 5)
		assert.Equal(t, tc.kept, w.upload(at).FileName, "%q", tc.given)
		assert.NoFileExists(t, filepath.Join(filepath.Dir(w.uploads), "passwd"))
	}
	left, err := os.ReadDir(w.uploads)
	require.NoError(t, err)
	for _, f := range left {
		assert.Regexp(t, `^[A-Za-z0-9]+(\.info)?$`, f.Name(), "no file bears a name that a client sent")
	}
}

func FuzzFileName(f *testing.F) {
	for _, s := range []string{"", "..", "a/b", `a\b`, "a.mp4", strings.Repeat("é", 400), "con", "\x00", " . "} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		name := api.FileName(s)
		if name == "" || name == "." || name == ".." || len(name) > 200 || strings.ContainsAny(name, "/\\\x00\n\r") || !strings.HasPrefix(strings.ToValidUTF8(name, "!"), name) {
			t.Errorf("%q gives %q", s, name)
		}
	})
}
