package align

import (
	"encoding/binary"
	"log/slog"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/ffmpeg"
	"netreel/media/ffmpeg/fftest"
)

// twoMinutes is the overlap that the bars below speak of, seconds.
const twoMinutes = 120

// Files as cameras write them, made by the real ffmpeg out of one invented
// hall: other filters, noises, levels, polarities, codecs, sample rates and
// clocks. Offsets must come out within 10 ms and drift within 20 ppm.
func TestFilesOfOneHall(t *testing.T) {
	t.Parallel()
	tool, err := ffmpeg.Find(slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	dir := t.TempDir()
	hall := filepath.Join(dir, "hall.wav")
	writeWAV(t, hall, newHall(11, hallSpec{seconds: 420, gap: 7, talk: true}).hear(camera{seconds: 420}))
	// film films the hall from a second on. The speed is the number of samples
	// that its clock takes for 48,000 of the true clock's.
	film := func(name, from, seconds, filters string, speed int, more ...string) string {
		path := filepath.Join(dir, name)
		rate := "asetrate=48000"
		if speed != 48000 {
			// what plays at 48,000 for as many samples as the true clock took at speed
			rate = "aresample=" + strconv.Itoa(speed) + ",asetrate=48000"
		}
		args := []string{"-ss", from, "-t", seconds, "-i", hall,
			"-f", "lavfi", "-i", "anoisesrc=r=48000:c=pink:a=0.01:seed=" + strconv.Itoa(len(name)*speed),
			"-f", "lavfi", "-i", "color=c=gray:s=64x36:r=25",
			"-filter_complex", "[0:a]aresample=48000," + rate + "," + filters + "[s];[s][1:a]amix=inputs=2:duration=first:normalize=0[out]",
			"-map", "2:v", "-map", "[out]", "-shortest"}
		fftest.FFmpeg(t, append(append(args, more...), path)...)
		return path
	}
	a := film("a.mp4", "150", "200", "volume=0.7", 48000, "-c:a", "aac", "-b:a", "128k", "-ar", "48000")
	for _, c := range []struct {
		name, path  string
		offset, ppm float64 // of this one on a's clock
	}{
		{"a dull microphone, begun before", film("dull.mp4", "30", "240", "lowpass=f=1500,lowpass=f=1500,volume=0.2", 48000,
			"-c:a", "aac", "-b:a", "48k", "-ar", "22050"), -120, 0},
		{"the other polarity and a quick clock", film("turned.mov", "230", "190", "highpass=f=700,volume=-0.5", 48005,
			"-c:a", "pcm_s16le", "-ar", "44100"), 80, -5e6 / 48005},
		{"clipped, an echo and a slow clock", film("clipped.mkv", "230", "121", "aecho=0.8:0.7:31:0.5,volume=8,aformat=sample_fmts=s16,aformat=sample_fmts=flt", 47996,
			"-c:a", "aac", "-b:a", "64k", "-ar", "48000"), 80, 4e6 / 47996},
		{"a machine's hum, and mp3", film("hum.mkv", "200", "150", "volume=0.3,aeval=val(0)+0.05*sin(2*PI*100*t)+0.03*sin(2*PI*950*t):c=same", 48002,
			"-c:a", "libmp3lame", "-b:a", "96k", "-ar", "44100"), 50, -2e6 / 48002},
		{"sound that begins late in the container", film("late.mp4", "230", "190", "adelay=700", 48000,
			"-c:a", "aac", "-b:a", "96k"), 79.3, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, err := Find(t.Context(), tool.File(a), tool.File(c.path), Distances{})
			require.NoError(t, err)
			require.False(t, m.Refused(), m.Why)
			// Encoders put some silence before the sound; a container without edit
			// lists then begins the picture as much later, and its clock earlier.
			p, err := tool.Probe(t.Context(), c.path)
			require.NoError(t, err)
			c.offset -= p.VideoStart.Seconds()
			assert.GreaterOrEqual(t, m.Overlap, twoMinutes-1.0)
			assert.InDelta(t, c.offset, m.Clock.Offset.Seconds(), 0.010)
			assert.InDelta(t, c.ppm, m.Clock.RatePPM, 20)
		})
	}
}

// writeWAV writes mono float samples at rate.
func writeWAV(t *testing.T, path string, samples []float32) {
	t.Helper()
	head := []byte("RIFF\x00\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x03\x00\x01\x00")
	head = binary.LittleEndian.AppendUint32(head, rate)
	head = binary.LittleEndian.AppendUint32(head, 4*rate)
	head = append(head, 4, 0, 32, 0)
	head = append(head, "data"...)
	head = binary.LittleEndian.AppendUint32(head, uint32(4*len(samples)))
	for _, v := range samples {
		head = binary.LittleEndian.AppendUint32(head, math.Float32bits(v))
	}
	binary.LittleEndian.PutUint32(head[4:], uint32(len(head)-8))
	require.NoError(t, os.WriteFile(path, head, 0o600))
}
