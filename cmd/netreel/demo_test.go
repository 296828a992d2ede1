package main

import (
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/scene"
	"netreel/media/split"
	"netreel/tagging/vocabulary"
)

// TestDemoSplit renders the demo's footage and scores the split against its
// truth file. The bounds are what a change must not fall below.
func TestDemoSplit(t *testing.T) {
	tool := tool(t)
	film, err := renderFilm(t.Context(), tool, scene.WinterSession(demoSeed), t.TempDir(), func(float64) {})
	require.NoError(t, err)
	probe, err := tool.Probe(t.Context(), film.path)
	require.NoError(t, err)
	found, err := split.Find(t.Context(), tool.File(film.path), probe, split.Watch{})
	require.NoError(t, err)

	score := split.Score(found.Deliveries, film.deliveries(), media.Second/2)
	t.Logf("recall %.3f, precision %.3f, contact error (median) %v", score.Recall, score.Precision, score.ContactMedian.Duration())
	assert.GreaterOrEqual(t, score.Recall, 0.85)
	assert.GreaterOrEqual(t, score.Precision, 0.85)
	assert.Less(t, score.ContactMedian, media.Second/20)
}

// TestDemoTruthSpeaksTheVocabulary keeps the renderer's words and the default
// vocabulary together: a term that is not offered would silently stay uncoded.
func TestDemoTruthSpeaksTheVocabulary(t *testing.T) {
	t.Parallel()
	show, err := scene.New(scene.WinterSession(demoSeed))
	require.NoError(t, err)
	truth := show.Truth()
	assert.Len(t, truth.Balls, 40)
	edition := vocabulary.Default()
	for i, b := range truth.Balls {
		for group, terms := range b.Terms {
			for _, term := range terms {
				assert.True(t, edition.Offers(group, term), "ball %d: %s:%s", i+1, group, term)
			}
		}
	}
}

// TestDemoToldToEnd presses Ctrl+C while the demo's footage is being rendered.
func TestDemoToldToEnd(t *testing.T) {
	t.Parallel()
	p := newProcess(t)
	p.start("demo", "--once")
	until(t, "it renders", func() bool { return len(p.running("ffmpeg", "footage")) > 0 })
	require.NoError(t, p.cmd.Process.Signal(os.Interrupt))
	said, err := io.ReadAll(p.says)
	require.NoError(t, err)
	assert.Empty(t, string(said), "no summary")
	require.Error(t, p.cmd.Wait())
	assert.Equal(t, 130, p.cmd.ProcessState.ExitCode(), "128 and the signal's number, as shells have it (POSIX XCU, 2.8.2)")
	for _, tool := range []string{"ffmpeg", "postgres"} {
		assert.Empty(t, p.running(tool, ""), "%s outlives it", tool)
	}
	_, err = os.Stat(filepath.Join(p.data, "running.json"))
	assert.ErrorIs(t, err, os.ErrNotExist)
}
