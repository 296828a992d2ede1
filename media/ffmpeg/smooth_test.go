package ffmpeg

import (
	"path/filepath"
	"slices"
	"testing"

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
			truth := watch(t, tool, src, c.film.Turned)
			for i, span := range []media.Span{
				{Start: 1_234_567, End: 2_211_000},
				{Start: truth[25].at, End: truth[50].at},
				{Start: 0, End: truth[0].at + 1},
			} {
				dst := filepath.Join(t.TempDir(), "smooth.mp4")
				done, err := tool.Smooth(t.Context(), src, Smooth{Span: span, Height: 720, Dst: dst}, nil)
				if err != nil {
					t.Fatal(err)
				}
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
	if err != nil {
		t.Fatal(err)
	}
	if p.Rotation != 0 || p.PixelFormat != "yuv420p" || !p.BrowserShows() {
		t.Errorf("clip is %+v", p)
	}
	if film.Turned != (p.Width < p.Height) {
		t.Errorf("clip is %d by %d", p.Width, p.Height)
	}
	return watch(t, tool, path, film.Turned)
}

func checkSmoothed(t *testing.T, span media.Span, done SmoothDone, seen, truth []numbered) {
	t.Helper()
	var at []media.Micros
	for _, s := range seen {
		at = append(at, s.at)
	}
	if !slices.Equal(at, done.Frames) {
		t.Fatalf("%v: Frames are %v, decoding shows %v", span, done.Frames, at)
	}
	if at[0] != 0 {
		t.Errorf("%v: first picture at %d", span, at[0])
	}
	var want []numbered
	for i, n := range truth {
		if n.at < span.End && (n.at >= span.Start || i+1 < len(truth) && truth[i+1].at > span.Start) || i == 0 && span.End <= n.at {
			want = append(want, n)
		}
	}
	if len(seen) != len(want) || done.First != want[0].at {
		t.Fatalf("%v: %d pictures from %d, want %d from %d", span, len(seen), done.First, len(want), want[0].at)
	}
	for i := range want {
		if off := seen[i].at + done.First - want[i].at; seen[i].n != want[i].n || off > 2 || off < -2 {
			t.Fatalf("%v: picture %d is number %d at %d, want %d at %d", span, i, seen[i].n, seen[i].at+done.First, want[i].n, want[i].at)
		}
	}
}
