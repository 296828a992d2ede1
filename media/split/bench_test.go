package split_test

import (
	"bytes"
	"encoding/binary"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"netreel/media/ffmpeg"
	"netreel/media/ffmpeg/fftest"
	"netreel/media/scene/plain"
	"netreel/media/split"
)

// session renders a minute of a net and repeats it.
func session(b *testing.B, tool *ffmpeg.Tool, times string) string {
	b.Helper()
	dir := b.TempDir()
	w := plain.New(plain.Setting{Seed: 77, Seconds: 60, Gap: 9, Left: 0.2, Width: 640, Height: 360, FPS: 50, Style: plain.Limbs,
		Grain: 2, Ball: 0.012, Spread: 3, Distance: 7, Noise: -40, Echo: 0.4, Talk: 0.2, TalkLevel: -8}, &plain.Library{})
	wav, once, film := filepath.Join(dir, "s.wav"), filepath.Join(dir, "once.mp4"), filepath.Join(dir, "film.mp4")
	var raw bytes.Buffer
	for _, v := range w.Sound() {
		require.NoError(b, binary.Write(&raw, binary.LittleEndian, v))
	}
	require.NoError(b, os.WriteFile(wav+".f32", raw.Bytes(), 0o644))
	fftest.FFmpeg(b, "-f", "f32le", "-ar", "44100", "-ac", "1", "-i", wav+".f32", wav)
	err := tool.EncodeRaw(b.Context(), ffmpeg.Raw{Width: 640, Height: 360, FPS: 50, Sound: wav, Dst: once, Preset: "ultrafast"}, func(out io.Writer) error {
		buf := make([]byte, 640*360*3/2)
		for i := range w.Frames() {
			w.Picture(i, buf)
			if _, err := out.Write(buf); err != nil {
				return err
			}
		}
		return nil
	})
	require.NoError(b, err)
	fftest.FFmpeg(b, "-stream_loop", times, "-i", once, "-c", "copy", film)
	return film
}

// BenchmarkSplit splits thirty minutes, and an hour to show that memory does
// not grow with it. With sound the limit is to decode the sound; without, to
// decode every picture.
func BenchmarkSplit(b *testing.B) {
	tool, err := ffmpeg.Find(slog.New(slog.DiscardHandler))
	require.NoError(b, err)
	for _, c := range []struct {
		name, times string
		mute        bool
	}{{"sound", "29", false}, {"sound-hour", "59", false}, {"mute", "29", true}} {
		b.Run(c.name, func(b *testing.B) {
			film := session(b, tool, c.times)
			probe, err := tool.Probe(b.Context(), film)
			require.NoError(b, err)
			if c.mute {
				probe.AudioCodec = ""
			}
			runtime.GC()
			var peak uint64
			var balls int
			b.ResetTimer()
			for b.Loop() {
				found, err := split.Find(b.Context(), tool.File(film), probe, func(float64) {
					var m runtime.MemStats
					runtime.ReadMemStats(&m)
					peak = max(peak, m.HeapInuse)
				})
				require.NoError(b, err)
				balls = len(found.Deliveries)
			}
			b.StopTimer()
			took := b.Elapsed().Seconds() / float64(b.N)
			begin := time.Now()
			if c.mute {
				err = tool.Pictures(b.Context(), film, ffmpeg.PictureSpec{Width: 256, Height: 144}, func(ffmpeg.Picture) error { return nil })
			} else {
				err = tool.Sound(b.Context(), film, ffmpeg.SoundSpec{Rate: 16000}, func([]float32) error { return nil })
			}
			require.NoError(b, err)
			limit := map[bool]string{false: "x-sound", true: "x-pictures"}[c.mute]
			b.ReportMetric(took/time.Since(begin).Seconds(), limit)
			b.ReportMetric(probe.Duration.Seconds()/took, "x-realtime")
			b.ReportMetric(float64(peak)/1e6, "peak-MB")
			b.ReportMetric(float64(balls)/(probe.Duration.Seconds()/60), "balls/min")
		})
	}
}
