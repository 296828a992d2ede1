package scene_test

import (
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"netreel/media/scene"
)

// BenchmarkFrame paints frames of the demo on one goroutine and reports how
// many it makes a second.
func BenchmarkFrame(b *testing.B) {
	show, err := scene.New(scene.WinterSession(1))
	require.NoError(b, err)
	f := show.NewFilmer()
	b.ResetTimer()
	for i := 0; b.Loop(); i++ {
		f.Frame((i * 7) % show.Frames())
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "frames/s")
}

// BenchmarkSound reports how many seconds of the demo's sound are mixed in a
// second.
func BenchmarkSound(b *testing.B) {
	show, err := scene.New(scene.WinterSession(1))
	require.NoError(b, err)
	for b.Loop() {
		require.NoError(b, show.Sound().WriteWAV(io.Discard))
	}
	b.ReportMetric(show.Truth().Seconds*float64(b.N)/b.Elapsed().Seconds(), "x-realtime")
}
