package ffmpeg

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/ffmpeg/fftest"
)

// against reports how many times as long as the limit the benchmark took. The
// limit is measured in the same run, so the figure means the same on any machine.
func against(b *testing.B, name string, limit func()) {
	b.Helper()
	b.StopTimer()
	took := b.Elapsed() / time.Duration(b.N)
	begin := time.Now()
	limit()
	b.ReportMetric(took.Seconds()/time.Since(begin).Seconds(), "x-"+name)
}

// BenchmarkCutMany cuts 100 clips out of ten minutes. The limit is to copy the
// film once.
func BenchmarkCutMany(b *testing.B) {
	tool, dir := newTool(b), b.TempDir()
	src := fftest.Make(b, fftest.Film{Seconds: 600, BFrames: 2})
	var cuts []Cut
	for i := range 100 {
		at := media.Micros(i)*5_900_000 + 1_300_000
		cuts = append(cuts, Cut{media.Span{Start: at, End: at + 4*media.Second}, filepath.Join(dir, fmt.Sprintf("%d.mp4", i))})
	}
	for b.Loop() {
		_, err := tool.CutMany(b.Context(), src, cuts, nil)
		require.NoError(b, err)
	}
	against(b, "copy", func() {
		fftest.FFmpeg(b, "-i", src, "-c", "copy", "-movflags", "+faststart", filepath.Join(dir, "copy.mp4"))
	})
}

// BenchmarkSmooth encodes ten seconds. The limit is to decode them.
func BenchmarkSmooth(b *testing.B) {
	tool := newTool(b)
	src := fftest.Make(b, fftest.Film{Seconds: 20, BFrames: 2})
	smooth := Smooth{Span: media.Span{Start: 5 * media.Second, End: 15 * media.Second}, Height: 720, Dst: filepath.Join(b.TempDir(), "smooth.mp4")}
	for b.Loop() {
		_, err := tool.Smooth(b.Context(), src, smooth, nil)
		require.NoError(b, err)
	}
	against(b, "decode", func() { fftest.FFmpeg(b, "-ss", "5", "-t", "10", "-i", src, "-f", "null", "-") })
}

// BenchmarkSound decodes ten minutes of sound. The limit is to read the packets
// of the film without decoding any.
func BenchmarkSound(b *testing.B) {
	tool := newTool(b)
	src := fftest.Make(b, fftest.Film{Seconds: 600, BFrames: 2})
	for b.Loop() {
		require.NoError(b, tool.Sound(b.Context(), src, SoundSpec{Rate: 16000}, func([]float32) error { return nil }))
	}
	against(b, "read", func() { fftest.FFmpeg(b, "-i", src, "-map", "0", "-c", "copy", "-f", "null", "-") })
}
