package scene_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"netreel/media/scene"
)

// encoder runs ffmpeg for the tests.
type encoder struct{}

func (encoder) EncodeRaw(ctx context.Context, f scene.Film, pictures func(io.Writer) error) error {
	args := []string{"-v", "error", "-y", "-f", "rawvideo", "-pix_fmt", "yuv420p",
		"-s", fmt.Sprintf("%dx%d", f.Width, f.Height), "-r", strconv.FormatFloat(f.FPS, 'f', -1, 64), "-i", "pipe:0"}
	if f.Sound != "" {
		args = append(args, "-i", f.Sound, "-c:a", "aac")
	}
	args = append(args, "-c:v", "libx264", "-preset", f.Preset, "-pix_fmt", "yuv420p",
		"-color_primaries", "bt709", "-color_trc", "bt709", "-colorspace", "bt709", "-movflags", "+faststart", f.Dst)
	cmd := exec.CommandContext(ctx, "ffmpeg", args...)
	var told bytes.Buffer
	cmd.Stderr = &told
	in, err := cmd.StdinPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	err = errors.Join(pictures(in), in.Close())
	if e := cmd.Wait(); e != nil {
		err = errors.Join(err, fmt.Errorf("%w: %s", e, told.String()))
	}
	return err
}

// small is a short scene that is quick to render.
func small(seed int64) scene.Setting {
	s := scene.WinterSession(seed)
	s.Width, s.Height, s.FPS = 320, 180, 25
	s.Blocks = s.Blocks[:1]
	s.Blocks[0].Balls = 2
	s.FrameCode = true
	return s
}

func TestRenderThroughFFmpeg(t *testing.T) {
	dst := filepath.Join(t.TempDir(), "film.mp4")
	var shares []float64
	truth, err := scene.Render(t.Context(), encoder{}, small(3), dst, func(k float64) { shares = append(shares, k) })
	require.NoError(t, err)
	require.IsIncreasing(t, shares)
	require.Equal(t, 1.0, shares[len(shares)-1])

	out, err := exec.Command("ffprobe", "-v", "error", "-count_packets", "-show_streams", "-of", "json", dst).Output()
	require.NoError(t, err)
	var probe struct {
		Streams []struct {
			CodecType, Duration string
			NbReadPackets       string `json:"nb_read_packets"`
			Codec               string `json:"codec_type"`
			Width, Height       int
			Rate                string `json:"avg_frame_rate"`
		}
	}
	require.NoError(t, json.Unmarshal(out, &probe))
	require.Len(t, probe.Streams, 2)
	video, sound := probe.Streams[0], probe.Streams[1]
	require.Equal(t, "video", video.Codec)
	require.Equal(t, "audio", sound.Codec)
	require.Equal(t, 320, video.Width)
	require.Equal(t, 180, video.Height)
	require.Equal(t, "25/1", video.Rate)
	require.Equal(t, strconv.Itoa(truth.Frames), video.NbReadPackets)
	for _, s := range probe.Streams {
		d, err := strconv.ParseFloat(s.Duration, 64)
		require.NoError(t, err)
		require.InDelta(t, truth.Seconds, d, 0.06, s.Codec)
	}

	// Every frame carries its number through the codec.
	raw, err := exec.Command("ffmpeg", "-v", "error", "-i", dst, "-f", "rawvideo", "-pix_fmt", "gray", "-").Output()
	require.NoError(t, err)
	size := 320 * 180
	require.Equal(t, truth.Frames, len(raw)/size)
	for i := range truth.Frames {
		n, ok := scene.ReadCode(raw[i*size:][:size], 320)
		require.True(t, ok, "frame %d", i)
		require.Equal(t, i, n)
	}
}
