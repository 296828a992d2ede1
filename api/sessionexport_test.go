package api_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/blob"
)

func TestSessionIsTakenAway(t *testing.T) {
	t.Parallel()
	w := newWorld(t).fill()
	at := func(file string) string { return fmt.Sprintf("/api/sessions/%d/export/%s", w.ids.session, file) }

	table := w.analyst.get(at("balls.csv")).is(200)
	assert.Contains(t, table.header.Get("Content-Disposition"), "Winter nets.csv")
	assert.Contains(t, string(table.body), "Pull")
	assert.NotContains(t, string(table.body), "Asha")
	assert.NotContains(t, string(table.body), "Meera")
	named := string(w.analyst.get(at("balls.csv?names=true")).is(200).body)
	assert.Contains(t, named, "Asha")
	assert.Contains(t, named, "Meera")

	annotations := w.coach.get(at("annotations.jsonld")).is(200)
	assert.Equal(t, `application/ld+json; profile="http://www.w3.org/ns/anno.jsonld"`, annotations.header.Get("Content-Type"))
	assert.Contains(t, string(annotations.body), fmt.Sprintf(`"source":"http://netreel.example/api/recordings/%d/original"`, w.ids.recording))
	assert.Contains(t, string(annotations.body), "t=6.000,6.001")
	assert.NotContains(t, string(annotations.body), "Meera")

	assert.Contains(t, string(w.coach.get(at("captions.vtt")).is(200).body), "Ball 1")
	assert.Contains(t, string(w.coach.get(at(fmt.Sprintf("captions.vtt?recording=%d", w.ids.recording))).is(200).body), "Shot: Pull")
	assert.Equal(t, "This session has no such recording.", w.coach.get(at("captions.vtt?recording=999999")).problem(404))
	w.coach.get(at("captions.vtt?recording=-1")).problem(400)
	w.coach.get(at("archive.zip?clips=perhaps")).problem(400)
	w.coach.get(at("balls.csv?names=perhaps")).problem(400)

	film := func(query string) map[string]int {
		t.Helper()
		body := w.coach.get(at("archive.zip"+query), "Accept-Encoding", "gzip").is(200).body
		r, err := zip.NewReader(bytes.NewReader(body), int64(len(body)))
		require.NoError(t, err)
		sizes := map[string]int{}
		for _, f := range r.File {
			file, err := f.Open()
			require.NoError(t, err)
			content, err := io.ReadAll(file)
			require.NoError(t, err)
			sizes[f.Name] = len(content)
		}
		return sizes
	}
	assert.Equal(t, len(w.ids.film), film("?clips=true")["clips/ball-001-side-on.mp4"])
	for name := range film("") {
		assert.False(t, strings.HasPrefix(name, "clips/"), name)
	}
	clip, err := w.store.Clip(t.Context(), w.staff(), w.ids.clip)
	require.NoError(t, err)
	require.NoError(t, w.blobs.Delete(t.Context(), blob.ClipKey(clip.ID, clip.Revision, "smooth")))
	assert.Contains(t, film("?clips=true"), "missing.txt")

	empty := fmt.Sprintf("/api/sessions/%d/export/", w.ids.otherSession)
	for _, file := range []string{"balls.csv", "annotations.jsonld", "captions.vtt", "archive.zip?clips=true"} {
		w.coach.get(empty + file).is(200)
	}
}
