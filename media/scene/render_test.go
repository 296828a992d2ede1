package scene_test

import (
	"context"
	"io"
	"log/slog"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/ffmpeg"
	"netreel/media/scene"
)

// encoder is how the program joins the two: a scene's film and ffmpeg's raw
// film have the same fields.
type encoder struct{ *ffmpeg.Tool }

func (e encoder) EncodeRaw(ctx context.Context, f scene.Film, pictures func(io.Writer) error) error {
	return e.Tool.EncodeRaw(ctx, ffmpeg.Raw(f), pictures)
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
	tool, err := ffmpeg.Find(slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	dst := filepath.Join(t.TempDir(), "film.mp4")
	var shares []float64
	truth, err := scene.Render(t.Context(), encoder{tool}, small(3), dst, func(k float64) { shares = append(shares, k) })
	require.NoError(t, err)
	require.IsIncreasing(t, shares)
	require.Equal(t, 1.0, shares[len(shares)-1])

	p, err := tool.Probe(t.Context(), dst)
	require.NoError(t, err)
	require.Equal(t, [2]int{320, 180}, [2]int{p.Width, p.Height})
	require.Equal(t, 25.0, p.FrameRate)
	require.True(t, p.HasSound())
	require.True(t, p.BrowserShows())
	require.InDelta(t, truth.Seconds, p.Duration.Seconds(), 0.001)
	samples := 0
	require.NoError(t, tool.Sound(t.Context(), dst, ffmpeg.SoundSpec{Rate: 8000}, func(s []float32) error {
		samples += len(s)
		return nil
	}))
	require.InDelta(t, truth.Seconds, float64(samples)/8000, 0.06)

	// Every frame carries its number through the codec and is shown at its time.
	n := 0
	require.NoError(t, tool.Pictures(t.Context(), dst, ffmpeg.PictureSpec{Width: 320, Height: 180}, func(q ffmpeg.Picture) error {
		code, ok := scene.ReadCode(q.Grey, 320)
		require.True(t, ok, "frame %d", n)
		require.Equal(t, n, code)
		require.InDelta(t, float64(media.FromSeconds(float64(n)/25)), float64(q.At), 100)
		n++
		return nil
	}))
	require.Equal(t, truth.Frames, n)
}
