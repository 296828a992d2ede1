package split_test

import (
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"netreel/media/ffmpeg"
	"netreel/media/ffmpeg/fftest"
	"netreel/media/scene/plain"
	"netreel/media/split"
)

// benchScene is a net with another beside it, talk, shadow shots and people who
// walk through, drawn small and stored large. Rendering it takes minutes, so
// that it is kept for the next time.
var benchScene = plain.Setting{Name: "bench", Seed: 900, Seconds: 180, Gap: 9, Left: 0.2, Width: 480, Height: 270, FPS: 50, Style: plain.Limbs,
	Grain: 2, Ball: 0.012, Bat: plain.Rimshot, Spread: 3, Distance: 7, Noise: -38, Echo: 0.5, Neighbours: 1, Down: 9, Talk: 0.3, TalkLevel: -4,
	Shadows: 0.15, Walkers: 2, Taps: 1}

// benchFilm is three minutes of 1080p50, key frames three seconds apart.
func benchFilm(b *testing.B, tool *ffmpeg.Tool) string {
	b.Helper()
	s := benchScene
	dir := filepath.Join(os.TempDir(), "netreel-bench")
	kept := filepath.Join(dir, fmt.Sprintf("seed%d-%.0fs-1080p50.mp4", s.Seed, s.Seconds))
	if _, err := os.Stat(kept); err == nil {
		return kept
	}
	require.NoError(b, os.MkdirAll(dir, 0o755))
	small, part := film(b, tool, plain.New(s, plain.Load(os.DirFS("/")))), kept+".part.mp4"
	fftest.FFmpeg(b, "-y", "-i", small, "-vf", "scale=1920:1080:flags=fast_bilinear", "-c:v", "libx264", "-preset", "superfast", "-crf", "21",
		"-g", "150", "-c:a", "copy", "-movflags", "+faststart", part)
	require.NoError(b, os.Rename(part, kept))
	return kept
}

// cpuSeconds is the processor time used so far, by us and by tools that have
// ended: what a busy machine leaves nearly alone.
func cpuSeconds(b *testing.B) float64 {
	b.Helper()
	var sum float64
	for _, who := range []int{syscall.RUSAGE_SELF, syscall.RUSAGE_CHILDREN} {
		var r syscall.Rusage
		require.NoError(b, syscall.Getrusage(who, &r))
		sum += float64(r.Utime.Nano()+r.Stime.Nano()) / 1e9
	}
	return sum
}

// BenchmarkSplit splits half an hour and an hour of 1080p50, with sound and
// without, to show that neither the ratios nor the memory grow with length.
// With sound the limit is to decode the sound, for the first balls and for all
// that are found in the end; without, to decode every picture, which is measured
// on the part that the film repeats.
func BenchmarkSplit(b *testing.B) {
	tool, err := ffmpeg.Find(slog.New(slog.DiscardHandler))
	require.NoError(b, err)
	once := benchFilm(b, tool)
	for _, c := range []struct {
		name    string
		minutes int
		mute    bool
	}{{"sound-30min", 30, false}, {"sound-60min", 60, false}, {"mute-30min", 30, true}, {"mute-60min", 60, true}} {
		b.Run(c.name, func(b *testing.B) {
			times := c.minutes * 60 / int(benchScene.Seconds)
			film := filepath.Join(b.TempDir(), "film.mp4")
			fftest.FFmpeg(b, "-stream_loop", fmt.Sprint(times-1), "-i", once, "-c", "copy", "-movflags", "+faststart", film)
			probe, err := tool.Probe(b.Context(), film)
			require.NoError(b, err)
			begin, busy := time.Now(), cpuSeconds(b)
			if c.mute {
				probe.AudioCodec = ""
				err = tool.Pictures(b.Context(), once, ffmpeg.PictureSpec{Width: 256, Height: 144}, func(ffmpeg.Picture) error { return nil })
			} else {
				err = tool.Sound(b.Context(), film, ffmpeg.SoundSpec{Rate: 16000}, func([]float32) error { return nil })
			}
			require.NoError(b, err)
			limit, limitCPU, unit := time.Since(begin).Seconds(), cpuSeconds(b)-busy, "x-sound"
			if c.mute {
				limit, limitCPU, unit = limit*float64(times), limitCPU*float64(times), "x-pictures"
			}
			runtime.GC()
			var heap uint64
			var balls int
			var heard time.Duration // until the first balls were there
			busy = cpuSeconds(b)
			b.ResetTimer()
			for b.Loop() {
				start := time.Now()
				found, err := split.Find(b.Context(), tool.File(film), probe, split.Watch{
					Progress: func(float64) {
						var m runtime.MemStats
						runtime.ReadMemStats(&m)
						heap = max(heap, m.HeapInuse)
					},
					Heard: func(split.Result) error {
						heard = time.Since(start)
						return nil
					},
				})
				require.NoError(b, err)
				balls = len(found.Deliveries)
			}
			b.StopTimer()
			took := b.Elapsed().Seconds() / float64(b.N)
			var tools syscall.Rusage // of the largest process started so far
			require.NoError(b, syscall.Getrusage(syscall.RUSAGE_CHILDREN, &tools))
			b.ReportMetric(took/limit, unit)
			if heard > 0 {
				b.ReportMetric(heard.Seconds()/limit, "first-"+unit)
			}
			b.ReportMetric((cpuSeconds(b)-busy)/float64(b.N)/limitCPU, "cpu-"+unit)
			b.ReportMetric(probe.Duration.Seconds()/took, "x-realtime")
			b.ReportMetric(float64(heap)/1e6, "heap-MB")
			b.ReportMetric(float64(tools.Maxrss)/1e3, "tool-MB")
			b.ReportMetric(float64(balls)/(probe.Duration.Seconds()/60), "balls/min")
		})
	}
}
