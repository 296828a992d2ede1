package main

import (
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
	found, err := split.Find(t.Context(), tool.File(film.path), probe, func(float64) {})
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
