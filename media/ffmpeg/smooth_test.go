package ffmpeg

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/ffmpeg/fftest"
)

func TestSmooth(t *testing.T) {
	t.Parallel()
	for _, c := range append(films, []struct {
		name string
		film fftest.Film
	}{
		{"HEVC", fftest.Film{Codec: "libx265", Ext: ".mov", Seconds: 3}},
		{"MPEG-4 in AVI", fftest.Film{FPS: 25, Codec: "mpeg4", Ext: ".avi", Sound: "pcm_s16le", Seconds: 3}},
	}...) {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			tool, src := newTool(t), fftest.Make(t, c.film)
			truth := truthOf(t, tool, c.film)
			spans := []media.Span{{Start: 1_234_567, End: 2_211_000}}
			if truth[0].at > 0 { // the film's beginning is worth a look
				spans = append(spans, media.Span{Start: 0, End: truth[10].at + 1})
			}
			for i, span := range spans {
				dst := filepath.Join(t.TempDir(), "smooth.mp4")
				done, err := tool.Smooth(t.Context(), src, Smooth{Span: span, Height: 720, Dst: dst}, nil)
				require.NoError(t, err)
				seen := watchSmooth(t, tool, dst, c.film)
				checkSmoothed(t, span, done, seen, truth)
				if i == 0 {
					inStep(t, tool, dst, seen, c.film)
				}
			}
		})
	}
}

// watchSmooth is watch for a clip that stands upright by itself.
func watchSmooth(t *testing.T, tool *Tool, path string, film fftest.Film) []numbered {
	t.Helper()
	p, err := tool.Probe(t.Context(), path)
	require.NoError(t, err)
	assert.True(t, p.Rotation == 0 && p.PixelFormat == "yuv420p" && p.BrowserShows(), "clip is %+v", p)
	assert.Equal(t, film.Turned, p.Width < p.Height, "clip is %d by %d", p.Width, p.Height)
	return watch(t, tool, path, film.Turned)
}

func checkSmoothed(t *testing.T, span media.Span, done SmoothDone, seen, truth []numbered) {
	t.Helper()
	at := make([]media.Micros, len(seen))
	for i, s := range seen {
		at[i] = s.at
	}
	require.Equal(t, at, done.Frames, "%v: Frames differ from what decoding shows", span)
	assert.Zero(t, at[0])
	var want []numbered
	for i, n := range truth {
		onScreen := i+1 < len(truth) && n.at <= span.Start && truth[i+1].at > span.Start
		if onScreen || span.Contains(n.at) {
			want = append(want, n)
		}
	}
	require.Len(t, seen, len(want), "%v", span)
	assert.Equal(t, want[0].at, done.First)
	for i := range want {
		require.Equal(t, want[i].n, seen[i].n, "%v: picture %d", span, i)
		require.InDelta(t, float64(want[i].at), float64(seen[i].at+done.First), 2, "%v: picture %d", span, i)
	}
}
