package ffmpeg

import (
	"fmt"
	"path/filepath"
	"slices"
	"testing"

	"netreel/media"
	"netreel/media/ffmpeg/fftest"
)

// numbered is a picture as a test sees it.
type numbered struct {
	at    media.Micros
	n     int
	flash bool
}

// watch decodes a film and reads every picture's number.
func watch(t *testing.T, tool *Tool, path string, turned bool) []numbered {
	t.Helper()
	spec := PictureSpec{Width: fftest.Width, Height: fftest.Height}
	if turned {
		spec.Width, spec.Height = spec.Height, spec.Width
	}
	var seen []numbered
	err := tool.Pictures(t.Context(), path, spec, func(p Picture) error {
		grey := p.Grey
		if turned {
			grey = fftest.Upright(grey)
		}
		seen = append(seen, numbered{p.At, fftest.Number(grey), fftest.Flash(grey)})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return seen
}

// films are the sources that a clip must be exact for.
var films = []struct {
	name string
	film fftest.Film
}{
	{"25 a second", fftest.Film{FPS: 25, GOP: 25, BFrames: 2}},
	{"50 a second, no B frames", fftest.Film{FPS: 50}},
	{"50 a second, key frames 5 s apart", fftest.Film{FPS: 50, GOP: 250, BFrames: 3, Seconds: 12}},
	{"100 a second, MOV", fftest.Film{FPS: 100, GOP: 100, BFrames: 2, Ext: ".mov"}},
	{"240 a second", fftest.Film{FPS: 240, GOP: 240, BFrames: 3, Seconds: 6}},
	{"variable rate", fftest.Film{FPS: 30, GOP: 30, BFrames: 2, Uneven: true}},
	{"picture starts late", fftest.Film{BFrames: 2, Late: 0.021016}},
	{"container's clock begins at 5 s", fftest.Film{BFrames: 2, Offset: 5}},
	{"open GOP", fftest.Film{BFrames: 3, OpenGOP: true}},
	{"MKV", fftest.Film{FPS: 60, BFrames: 2, Ext: ".mkv"}},
	{"transport stream", fftest.Film{BFrames: 2, Ext: ".ts"}},
	{"MOV in 600ths, PCM", fftest.Film{BFrames: 2, Ext: ".mov", Sound: "pcm_s16le", More: "-video_track_timescale 600"}},
	{"no sound", fftest.Film{BFrames: 2, Sound: "none"}},
	{"on its side", fftest.Film{BFrames: 2, Turned: true}},
}

func asked(f fftest.Film) []media.Span {
	length := media.FromSeconds(float64(f.Pictures()) / max(f.FPS, 25))
	if f.FPS == 0 {
		length = 8 * media.Second
	}
	return []media.Span{
		{Start: 0, End: media.Second},
		{Start: 1_234_567, End: 3_011_000},
		{Start: 2 * media.Second, End: 2_500_000},
		{Start: 2*media.Second - 1, End: 2_900_000},
		{Start: 2_700_000, End: 4_100_000},
		{Start: length - 1_500_000, End: length - 333_333},
		{Start: length - 500_000, End: length + media.Second},
	}
}

func TestCutMany(t *testing.T) {
	t.Parallel()
	for _, c := range films {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			tool, src := newTool(t), fftest.Make(t, c.film)
			truth := watch(t, tool, src, c.film.Turned)
			inStep(t, tool, src, truth, c.film)
			var cuts []Cut
			for i, s := range asked(c.film) {
				cuts = append(cuts, Cut{Span: s, Dst: filepath.Join(t.TempDir(), fmt.Sprintf("%d.mp4", i))})
			}
			last := 0.0
			done, err := tool.CutMany(t.Context(), src, cuts, func(p float64) {
				if p < last || p > 1 {
					t.Errorf("progress went from %v to %v", last, p)
				}
				last = p
			})
			if err != nil {
				t.Fatal(err)
			}
			if last != 1 {
				t.Errorf("progress ended at %v", last)
			}
			for i, d := range done {
				checkClip(t, tool, src, cuts[i], d, truth, c.film)
			}
		})
	}
}

func keyBefore(t *testing.T, tool *Tool, src string, at media.Micros) media.Micros {
	t.Helper()
	var keys []media.Micros
	if err := tool.Packets(t.Context(), src, func(p Packet) error {
		if p.Key {
			keys = append(keys, p.At)
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	best := keys[0]
	for _, k := range keys {
		if k <= at {
			best = k
		}
	}
	return best
}

func checkClip(t *testing.T, tool *Tool, src string, c Cut, d CutDone, truth []numbered, film fftest.Film) {
	t.Helper()
	seen := watch(t, tool, d.Dst, film.Turned)
	var at []media.Micros
	for _, s := range seen {
		at = append(at, s.at)
	}
	if !slices.Equal(at, d.Frames) {
		t.Errorf("%v: Frames are %v, decoding shows %v", c.Span, d.Frames, at)
	}
	key := keyBefore(t, tool, src, c.Span.Start)
	zero := c.Span.Start - d.Lead
	first := slices.IndexFunc(truth, func(n numbered) bool { return n.at >= key })
	if seen[0].n != truth[first].n {
		t.Errorf("%v: clip begins with picture %d, the key frame is %d", c.Span, seen[0].n, truth[first].n)
	}
	// Every picture up to the asked end is there, in its place.
	for i := first; i < len(truth) && truth[i].at < c.Span.End; i++ {
		if i-first >= len(seen) {
			t.Errorf("%v: clip ends with picture %d, %d is missing", c.Span, seen[len(seen)-1].n, truth[i].n)
			break
		}
		got := seen[i-first]
		if off := got.at + zero - truth[i].at; got.n != truth[i].n || off > 1000 || off < -1000 {
			t.Errorf("%v: picture %d of the clip is %d at %d, want %d at %d", c.Span, i-first, got.n, got.at+zero, truth[i].n, truth[i].at)
			break
		}
	}
	inStep(t, tool, d.Dst, seen, film)
}

// inStep checks that each click comes with its flash.
func inStep(t *testing.T, tool *Tool, path string, seen []numbered, film fftest.Film) {
	t.Helper()
	if film.Sound == "none" {
		return
	}
	const rate = 48000
	var samples []float32
	if err := tool.Sound(t.Context(), path, SoundSpec{Rate: rate}, func(s []float32) error {
		samples = append(samples, s...)
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	frame := 1 / 25.0
	if len(seen) > 1 {
		frame = (seen[len(seen)-1].at - seen[0].at).Seconds() / float64(len(seen)-1)
	}
	if film.Uneven {
		frame *= 3
	}
	for _, click := range fftest.Clicks(samples, rate) {
		if click < 0.03 || click > seen[len(seen)-1].at.Seconds()-0.1 {
			continue // at the edge
		}
		best := 1.0
		for i := 1; i < len(seen); i++ {
			if seen[i].flash && !seen[i-1].flash {
				if d := seen[i].at.Seconds() - click; max(d, -d) < max(best, -best) {
					best = d
				}
			}
		}
		if best > frame+0.002 || best < -0.004 {
			t.Errorf("click at %.3f s, flash %.4f s later; a picture lasts %.4f s", click, best, frame)
		}
	}
}
