package ffmpeg

import (
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
)

var update = flag.Bool("update", false, "write the golden files anew")

// TestCommandLines holds every command line against its golden file, one
// argument a line.
func TestCommandLines(t *testing.T) {
	t.Parallel()
	const s = media.Second
	src := source{Probe: media.Probe{
		Container: "mov,mp4,m4a,3gp,3g2,mj2", VideoCodec: "h264", AudioCodec: "aac", Width: 1920, Height: 1080, Duration: 600 * s,
	}, tick: ratio{1, 90000}}
	silent, stream, fields, pcm := src, src, src, src
	silent.AudioCodec, silent.tick = "", ratio{1001, 30000}
	stream.Container, stream.start = "mpegts", 1_400_000
	fields.interlaced = true
	pcm.AudioCodec = "pcm_s16le"
	part := stretch{first: 12_020_000, last: 15_980_000, before: 12_010_000, after: 15_990_000, end: 16 * s, count: 199}
	key := packet{Packet: Packet{At: 11 * s, Key: true}, decode: 10_960_000, timed: true}
	cuts := []Cut{{media.Span{Start: 12 * s, End: 16 * s}, "/s/1.mp4"}, {media.Span{Start: 1, End: 4 * s}, "/s/2.mp4"}}
	first := packet{Packet: Packet{At: 0, Key: true}, decode: -40_000, timed: true}
	strip := media.Strip{Src: "/c/1.mp4", Span: media.Span{Start: 12_020_000, End: 16 * s}, Width: 1280, Height: 720, FPS: 50,
		Panels: []media.Panel{{X: 30, Y: 30, Width: 400, Height: 60, Within: media.Span{Start: 500_000, End: 2 * s}}},
		Letters: []media.Letter{
			{File: "/s/it's [1], a:b;.txt", Font: "/f/font.ttf", Size: 28, X: 45, Baseline: 60},
			{File: "/s/2.txt", Font: "/f/font.ttf", Size: 30, Centre: true, X: 640, Baseline: 700, Within: media.Span{Start: 500_000, End: 2 * s}},
		}}
	card := media.Strip{Span: media.Span{End: 3 * s}, Width: 1280, Height: 720, FPS: 50}
	within := media.Span{Start: 61_500_000, End: 64 * s}
	for name, args := range map[string][]string{
		"probe":           probeArgs("/c/film.mov"),
		"packets":         packetArgs("/c/film.mov", 0, media.Span{}),
		"packets-within":  packetArgs("/c/film.mts", 1_400_000, within),
		"sound":           soundArgs("/c/film.mov", src, SoundSpec{Rate: 16000}),
		"sound-within":    soundArgs("/c/film.mts", stream, SoundSpec{Rate: 48000, Within: within}),
		"pictures":        pictureArgs("/c/film.mov", src, PictureSpec{Width: 160, Height: 90}),
		"pictures-within": pictureArgs("/c/film.mov", src, PictureSpec{Width: 160, Height: 90, FPS: 12.5, Within: within}),
		"pictures-rough":  pictureArgs("/c/film.mov", src, PictureSpec{Width: 160, Height: 90, Rough: true}),
		"pictures-colour": pictureArgs("/c/film.mov", src, PictureSpec{Width: 160, Height: 90, Colour: true}),
		"pictures-keys":   pictureArgs("/c/film.mov", src, PictureSpec{Width: 160, Height: 90, KeyOnly: true}),
		"encode":          encodeArgs(Rough{Raw: Raw{Width: 1280, Height: 720, FPS: 50, Dst: "/s/1.mp4", Preset: "superfast"}}),
		"encode-sound":    encodeArgs(Rough{Raw: Raw{Width: 1280, Height: 720, FPS: 29.97, Sound: "/s/1.wav", Dst: "/s/1.mp4", Preset: "veryfast"}}),
		"encode-rough":    encodeArgs(Rough{Raw: Raw{Width: 320, Height: 180, FPS: 60, Dst: "/s/1.mp4", Preset: "ultrafast"}, Drop: 0.25, Bitrate: 600_000}),
		"cut":             cutArgs(planCuts("/c/film.mov", src, []packet{first, key}, cuts)),
		"cut-pcm":         cutArgs(planCuts("/c/film.mov", pcm, []packet{first, key}, cuts[:1])),
		"cut-silent":      cutArgs(planCuts("/c/film.mov", silent, []packet{first, key}, cuts[:1])),
		"smooth":          smoothArgs("/c/film.mov", src, Smooth{Height: 720, Dst: "/s/1.mp4"}, part),
		"smooth-silent":   smoothArgs("/c/film.mov", silent, Smooth{Height: 720, Dst: "/s/1.mp4"}, part),
		"smooth-fields":   smoothArgs("/c/film.mts", fields, Smooth{Height: 4000, Dst: "/s/1.mp4"}, part),
		"smooth-stream":   smoothArgs("/c/film.mts", stream, Smooth{Height: 720, Dst: "/s/1.mp4"}, part),
		"poster":          posterArgs("/c/1.mp4", src, part, 640, "/s/1.jpg"),
		"strip":           stripArgs(strip, src, part, "/s/0001.mov"),
		"strip-silent":    stripArgs(strip, silent, part, "/s/0001.mov"),
		"card":            cardArgs(card, "/s/0000.mov"),
		"join":            joinArgs("", "/s/film.mp4"),
		"join-words":      joinArgs("/s/words.vtt", "/s/film.mp4"),
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			golden := filepath.Join("testdata", "argv", name+".txt")
			got := strings.Join(args, "\n") + "\n"
			if *update {
				require.NoError(t, os.MkdirAll(filepath.Dir(golden), 0o755))
				require.NoError(t, os.WriteFile(golden, []byte(got), 0o644))
			}
			want, err := os.ReadFile(golden)
			require.NoError(t, err)
			assert.Equal(t, string(want), got)
		})
	}
}

func TestJoinList(t *testing.T) {
	t.Parallel()
	assert.Equal(t, "ffconcat version 1.0\nfile 'file:/s/it'\\''s.mov'\nduration 3.000000\nfile 'file:/s/b.mov'\nduration 0.020000\n",
		joinList([]string{"/s/it's.mov", "/s/b.mov"}, []media.Micros{3_000_000, 20_000}))
}

// TestEscape lets ffmpeg itself read names that hold every sign of its filter
// language.
func TestEscape(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for _, name := range []string{`plain`, `it's`, `a:b`, `[in],out;`, `back\slash`, `%{pts} \: \' '' "x"`, "é 漢", `=,=`} {
		path := filepath.Join(dir, name+".txt")
		require.NoError(t, os.WriteFile(path, []byte("0 drawbox x 1;"), 0o600))
		out, err := exec.CommandContext(t.Context(), "ffmpeg", "-nostdin", "-v", "error", "-f", "lavfi", "-i", "color=s=16x16:d=0.1",
			"-vf", "sendcmd=f="+escape(path)+",drawbox", "-f", "null", "-").CombinedOutput()
		assert.NoError(t, err, "%s: %s", name, out)
	}
}

func TestSizes(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ width, height, wanted, w, h int }{
		{1920, 1080, 720, 1280, 720},
		{1080, 1920, 720, 406, 720}, // 405 is odd
		{1280, 720, 720, 1280, 720},
		{640, 360, 720, 640, 360}, // never enlarged
		{641, 361, 720, 640, 360},
		{720, 405, 720, 718, 404},
		{4096, 2, 720, 4096, 2},
		{3, 4000, 720, 2, 720},
	} {
		w, h := fit(c.width, c.height, c.wanted)
		assert.Equal(t, []int{c.w, c.h}, []int{w, h}, "%d by %d to %d", c.width, c.height, c.wanted)
	}
	for _, c := range []struct{ width, height, w, h int }{
		{1920, 1080, 1280, 720},
		{1080, 1920, 406, 720},
		{640, 480, 960, 720},
		{320, 180, 1280, 720},
		{4000, 10, 1280, 4},
		{4000, 1, 1280, 2},
	} {
		w, h := contain(c.width, c.height, 1280, 720)
		assert.Equal(t, []int{c.w, c.h}, []int{w, h}, "%d by %d", c.width, c.height)
	}
}
