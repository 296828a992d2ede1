package api_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/blob"
)

// TestRanges holds the films against RFC 9110, section 14 (range requests):
// the file has 500 bytes.
func TestRanges(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	video := fmt.Sprintf("/api/clips/%d/video?which=smooth&revision=1", w.ids.clip)
	whole := w.coach.get(video).is(http.StatusOK)
	assert.Equal(t, "bytes", whole.header.Get("Accept-Ranges"), "14.3")
	etag, modified := whole.header.Get("Etag"), whole.header.Get("Last-Modified")
	require.NotEmpty(t, etag)
	for _, tc := range []struct {
		name         string
		header       []string
		status       int
		contentRange string
		body         string
	}{
		{"14.1.2: the first bytes", []string{"Range", "bytes=0-9"}, 206, "bytes 0-9/500", "0123456789"},
		{"14.1.2: from a byte to the end", []string{"Range", "bytes=495-"}, 206, "bytes 495-499/500", "56789"},
		{"14.1.2: the last bytes", []string{"Range", "bytes=-3"}, 206, "bytes 497-499/500", "789"},
		{"14.1.2: an end beyond the file is the file's", []string{"Range", "bytes=498-9999"}, 206, "bytes 498-499/500", "89"},
		{"14.1.2: a longer suffix is the whole file", []string{"Range", "bytes=-9999"}, 206, "bytes 0-499/500", string(w.ids.film)},
		{"14.4: beyond the file", []string{"Range", "bytes=500-"}, 416, "bytes */500", ""},
		{"14.2: an unknown unit", []string{"Range", "frames=1-2"}, 416, "", ""},
		{"13.1.5: If-Range holds", []string{"Range", "bytes=0-0", "If-Range", etag}, 206, "bytes 0-0/500", "0"},
		{"13.1.5: If-Range does not hold", []string{"Range", "bytes=0-0", "If-Range", `"another"`}, 200, "", string(w.ids.film)},
		{"13.1.2: If-None-Match", []string{"If-None-Match", etag}, 304, "", ""},
		{"13.1.3: If-Modified-Since", []string{"If-Modified-Since", modified}, 304, "", ""},
		{"13.1.1: If-Match does not hold", []string{"If-Match", `"another"`}, 412, "", ""},
	} {
		t.Run(tc.name, func(t *testing.T) {
			a := w.player.get(video, tc.header...).is(tc.status)
			assert.Equal(t, tc.contentRange, a.header.Get("Content-Range"))
			if tc.status >= 400 {
				assert.NotEmpty(t, a.problem(tc.status))
				assert.NotContains(t, a.header.Get("Cache-Control"), "immutable")
				return
			}
			assert.Equal(t, tc.body, string(a.body))
		})
	}
	head := w.player.do(http.MethodHead, video, nil).is(http.StatusOK)
	assert.Equal(t, "500", head.header.Get("Content-Length"), "9.3.2: HEAD is GET without the content")
	assert.Empty(t, head.body)
}

func TestClipsAreKeptByTheirRevision(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	at := func(format string, a ...any) string { return fmt.Sprintf(format, a...) }
	var ball struct {
		Clips []struct {
			Poster string
			File   struct{ URL string }
		}
	}
	w.player.get(at("/api/balls/%d", w.ids.ball)).is(200).into(&ball)
	require.Len(t, ball.Clips, 1)
	assert.Equal(t, at("/api/clips/%d/video?which=smooth&revision=1", w.ids.clip), ball.Clips[0].File.URL)
	for url, cache := range map[string]string{
		ball.Clips[0].File.URL:                   "private, max-age=31536000, immutable",
		ball.Clips[0].Poster:                     "private, max-age=31536000, immutable",
		at("/api/clips/%d/video", w.ids.clip):    "private, no-cache",
		at("/api/clips/%d/poster", w.ids.clip):   "private, no-cache",
		at("/api/exports/%d/film", w.ids.export): "private, no-cache",
	} {
		a := w.coach.get(url).is(200)
		assert.Equal(t, cache, a.header.Get("Cache-Control"), url)
		assert.Equal(t, "nosniff", a.header.Get("X-Content-Type-Options"))
		assert.Empty(t, a.header.Get("Content-Encoding"), "a film is never compressed")
	}
	w.coach.get(at("/api/clips/%d/video?which=smooth&revision=9", w.ids.clip)).problem(404)
	w.coach.get(at("/api/clips/%d/video?which=quick&revision=1", w.ids.clip)).problem(404)
	w.coach.get(at("/api/clips/%d/video?which=../../originals/x", w.ids.clip)).problem(400)
	w.coach.get(at("/api/clips/%d/video?revision=x", w.ids.clip)).problem(400)
	w.coach.get("/api/clips/x/video").problem(404)
}

// TestOriginalIsSaved: a file of a stranger's making is never shown as a page.
func TestOriginalIsSaved(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	a := w.analyst.get(fmt.Sprintf("/api/recordings/%d/original", w.ids.recording)).is(200)
	assert.Equal(t, "side-on bytes", string(a.body))
	assert.Equal(t, `attachment; filename=side.mp4`, a.header.Get("Content-Disposition"))
	assert.Equal(t, "video/mp4", a.header.Get("Content-Type"))
	assert.Contains(t, a.header.Get("Content-Security-Policy"), "default-src 'none'")
}

// TestShareLinkIsAskedAnew: nothing of a share link outlives it, not even what
// a browser holds.
func TestShareLinkIsAskedAnew(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	base := "/api/shared/" + w.ids.secret
	var playlist struct {
		Items []struct {
			Ball struct {
				Clips []struct {
					Poster string
					File   struct{ URL string }
				}
			}
		}
	}
	w.nobody.get(base).is(200).into(&playlist)
	clip := playlist.Items[0].Ball.Clips[0]
	assert.Equal(t, fmt.Sprintf("%s/clips/%d/video?which=smooth&revision=1", base, w.ids.clip), clip.File.URL)
	all := []string{base, base + "/captions.vtt", clip.File.URL, clip.Poster}
	var etag string
	for _, url := range all {
		a := w.nobody.get(url).is(200)
		assert.Regexp(t, `no-cache|no-store`, a.header.Get("Cache-Control"), url)
		if url == clip.File.URL {
			etag = a.header.Get("Etag")
		}
	}
	// A clip that is not of the reel is not there, though it is of the squad.
	other, err := w.store.Ball(t.Context(), w.staff(), w.ids.otherBall)
	require.NoError(t, err)
	require.NoError(t, put(t.Context(), w.blobs, blob.ClipKey(other.Clips[0].ID, 1, "smooth"), []byte("x")))
	w.nobody.get(fmt.Sprintf("%s/clips/%d/video?which=smooth&revision=1", base, other.Clips[0].ID)).problem(404)
	w.coach.do(http.MethodDelete, fmt.Sprintf("/api/shares/%d", w.ids.share), nil).is(204)
	for _, url := range all {
		w.nobody.get(url).problem(404)
		w.nobody.get(url, "If-None-Match", etag, "Range", "bytes=0-1").problem(404)
	}
	_, expired, err := w.store.AddShare(t.Context(), w.staff(), w.ids.reel, time.Now().Add(24*time.Hour))
	require.NoError(t, err)
	w.nobody.get("/api/shared/" + expired).is(200)
	_, err = w.store.Pool().Exec(t.Context(), `UPDATE share SET expires_at = now() - interval '1 second'`)
	require.NoError(t, err)
	w.nobody.get("/api/shared/" + expired).problem(404)
}

func TestCaptionsAndTable(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	vtt := w.player.get(fmt.Sprintf("/api/reels/%d/captions.vtt", w.ids.reel)).is(200)
	assert.True(t, strings.HasPrefix(string(vtt.body), "WEBVTT Pulls\n\n"), string(vtt.body))
	assert.Contains(t, string(vtt.body), "00:00:02.000 --> 00:00:04.000\nShot: Pull\nHands early\n")
	assert.Equal(t, "text/vtt; charset=utf-8", vtt.header.Get("Content-Type"))
	csv := w.coach.get(fmt.Sprintf("/api/reels/%d/balls.csv", w.ids.reel)).is(200)
	assert.Contains(t, string(csv.body), "2026-01-17,Winter nets,,Asha,1,0:04.000,0:06.000,0:08.000,Early,Watch the hands")
	assert.Equal(t, `attachment; filename=Pulls.csv`, csv.header.Get("Content-Disposition"))
}
