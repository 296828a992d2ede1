package ffmpeg

import (
	"fmt"
	"path/filepath"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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
	require.NoError(t, tool.Pictures(t.Context(), path, spec, func(p Picture) error {
		grey := p.Grey
		if turned {
			grey = fftest.Upright(grey)
		}
		seen = append(seen, numbered{p.At, fftest.Number(grey), fftest.Flash(grey)})
		return nil
	}))
	return seen
}

// truthOf is watch for a source, which many tests look at.
func truthOf(t *testing.T, tool *Tool, f fftest.Film) []numbered {
	t.Helper()
	truths.Lock()
	defer truths.Unlock()
	if _, ok := truths.of[f]; !ok {
		truths.of[f] = watch(t, tool, fftest.Make(t, f), f.Turned)
	}
	return truths.of[f]
}

var truths = struct {
	sync.Mutex
	of map[fftest.Film][]numbered
}{of: map[fftest.Film][]numbered{}}

// Sources for which a clip must be exact.
var (
	plain      = fftest.Film{BFrames: 2}
	farKeys    = fftest.Film{GOP: 250, BFrames: 3, Seconds: 6.5}
	uneven     = fftest.Film{FPS: 30, GOP: 30, BFrames: 2, Uneven: true}
	late       = fftest.Film{BFrames: 2, Late: 0.021016}
	offset     = fftest.Film{BFrames: 2, Offset: 5}
	mkv        = fftest.Film{FPS: 60, GOP: 60, BFrames: 2, Ext: ".mkv"}
	transport  = fftest.Film{BFrames: 2, Ext: ".ts"}
	sixhundred = fftest.Film{BFrames: 2, Ext: ".mov", Sound: "pcm_s16le", More: "-video_track_timescale 600"}
	silent     = fftest.Film{BFrames: 2, Sound: "none"}
	turned     = fftest.Film{BFrames: 2, Turned: true}
	fast       = fftest.Film{FPS: 240, GOP: 240, BFrames: 3, Seconds: 3.2}
)

var films = []struct {
	name string
	film fftest.Film
}{
	{"plain", plain},
	{"25 a second, no B frames", fftest.Film{FPS: 25, GOP: 25}},
	{"key frames 5 s apart", farKeys},
	{"100 a second, MOV", fftest.Film{FPS: 100, GOP: 100, BFrames: 2, Ext: ".mov", Seconds: 3.2}},
	{"240 a second", fast},
	{"variable rate", uneven},
	{"picture starts late", late},
	{"container's clock begins at 5 s", offset},
	{"open GOP", fftest.Film{BFrames: 3, OpenGOP: true}},
	{"MKV", mkv},
	{"transport stream", transport},
	{"MOV in 600ths, PCM", sixhundred},
	{"no sound", silent},
	{"on its side", turned},
}

func TestCutMany(t *testing.T) {
	t.Parallel()
	for _, c := range films {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			tool, src := newTool(t), fftest.Make(t, c.film)
			truth, keys := truthOf(t, tool, c.film), keyFrames(t, tool, src)
			inStep(t, tool, src, truth, c.film)
			var cuts []Cut
			end := truth[len(truth)-1].at
			for i, s := range []media.Span{
				{Start: 0, End: media.Second},
				{Start: 1_234_567, End: 3_011_000},
				{Start: keys[len(keys)-1], End: end + media.Second},
			} {
				cuts = append(cuts, Cut{Span: s, Dst: filepath.Join(t.TempDir(), fmt.Sprintf("%d.mp4", i))})
			}
			last := 0.0
			done, err := tool.CutMany(t.Context(), src, cuts, func(p float64) {
				assert.True(t, p > last && p <= 1, "progress went from %v to %v", last, p)
				last = p
			})
			require.NoError(t, err)
			assert.Equal(t, 1.0, last)
			for i, d := range done {
				seen := checkClip(t, tool, keys, cuts[i], d, truth, c.film)
				if i == 1 {
					inStep(t, tool, d.Dst, seen, c.film)
				}
			}
		})
	}
}

// TestPlanClip: the key frame at or before the start, to the microsecond.
func TestPlanClip(t *testing.T) {
	t.Parallel()
	key := func(at, decode media.Micros) packet {
		return packet{Packet: Packet{At: at, Key: true}, decode: decode, timed: true}
	}
	for _, c := range []struct {
		name  string
		src   source
		start media.Micros
		want  plannedClip
	}{
		{"at the key frame", source{tick: ratio{1, 12800}}, 2_000_000, plannedClip{zero: 2_000_000, skip: 1_959_998, shift: 40_000}},
		{"a hair before it", source{tick: ratio{1, 12800}}, 1_999_999, plannedClip{zero: 1_000_000, skip: 959_998, shift: 40_000}},
		{"at the beginning", source{tick: ratio{1, 12800}}, 10, plannedClip{}},
		{"before the first", source{tick: ratio{1, 12800}}, -10, plannedClip{}},
		{"container's clock begins later", source{tick: ratio{1, 90000}, start: 1_400_000}, 10, plannedClip{skip: 1_359_998, shift: 40_000}},
		{"whole ticks", source{tick: ratio{1, 600}}, 2_000_000, plannedClip{zero: 2_000_000, skip: 1_959_998, shift: 40_000}},
		{"ticks as long as pictures", source{tick: ratio{1, 25}}, 2_000_000, plannedClip{zero: 2_000_000, skip: 1_959_998, shift: 40_000}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			keys := []packet{key(0, -40_000), key(1_000_000, 960_000), key(2_000_000, 1_960_000)}
			end := c.start + media.Second
			c.want.length = end + c.src.start - c.want.skip
			assert.Equal(t, c.want, planClip(c.src, keys, Cut{Span: media.Span{Start: c.start, End: end}}))
		})
	}
}

func keyFrames(t *testing.T, tool *Tool, src string) []media.Micros {
	t.Helper()
	var keys []media.Micros
	require.NoError(t, tool.Packets(t.Context(), src, func(p Packet) error {
		if p.Key {
			keys = append(keys, p.At)
		}
		return nil
	}))
	return keys
}

// checkClip decodes a clip: it begins with the key frame at or before the asked
// start, holds every picture up to the asked end, each in its place, and shows
// them when Frames says.
func checkClip(t *testing.T, tool *Tool, keys []media.Micros, c Cut, d CutDone, truth []numbered, film fftest.Film) []numbered {
	t.Helper()
	seen := watch(t, tool, d.Dst, film.Turned)
	at := make([]media.Micros, len(seen))
	for i, s := range seen {
		at[i] = s.at
	}
	assert.Equal(t, at, d.Frames, "%v: Frames differ from what decoding shows", c.Span)
	key := keys[0]
	for _, k := range keys {
		if k <= c.Span.Start {
			key = k
		}
	}
	first := slices.IndexFunc(truth, func(n numbered) bool { return n.at >= key })
	zero := c.Span.Start - d.Lead
	for i := first; i < len(truth) && truth[i].at < c.Span.End; i++ {
		require.Less(t, i-first, len(seen), "%v: picture %d is missing", c.Span, truth[i].n)
		got := seen[i-first]
		require.Equal(t, truth[i].n, got.n, "%v: picture %d of the clip", c.Span, i-first)
		require.InDelta(t, float64(truth[i].at), float64(got.at+zero), 1000, "%v: picture %d of the clip", c.Span, i-first)
	}
	return seen
}

// inStep checks that each click comes with its flash.
func inStep(t *testing.T, tool *Tool, path string, seen []numbered, film fftest.Film) {
	t.Helper()
	if film.Sound == "none" {
		return
	}
	const rate = 48000
	samples := listen(t, tool, path, SoundSpec{Rate: rate})
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
		assert.True(t, best < frame+0.002 && best > -0.004, "click at %.3f s, flash %.4f s later; a picture lasts %.4f s", click, best, frame)
	}
}
