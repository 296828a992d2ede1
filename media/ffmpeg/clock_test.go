package ffmpeg

import (
	"bytes"
	"encoding/binary"
	"io"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/media"
	"netreel/media/ffmpeg/fftest"
)

// TestStretchOf: the picture on screen at the start is in, all that begin
// before the end are, no other is, and the cuts lie between pictures.
func TestStretchOf(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		gaps := rapid.SliceOfN(rapid.IntRange(2, 1000), 1, 30).Draw(t, "gaps")
		times := make([]media.Micros, len(gaps))
		at := media.Micros(rapid.IntRange(-100, 100).Draw(t, "first"))
		for i, g := range gaps {
			times[i] = at
			at += media.Micros(g)
		}
		start := media.Micros(rapid.IntRange(-200, int(at)+200).Draw(t, "start"))
		within := media.Span{Start: start, End: start + media.Micros(rapid.IntRange(1, 2000).Draw(t, "length"))}
		s := stretchOf(times, within)
		var want []media.Micros
		for i, at := range times {
			onScreen := at <= within.Start && (i+1 == len(times) || times[i+1] > within.Start)
			if onScreen || within.Contains(at) || i == 0 && within.End <= at {
				want = append(want, at)
			}
		}
		if s.first != want[0] || s.last != want[len(want)-1] || s.count != len(want) {
			t.Fatalf("%+v of %v within %v, want %v", s, times, within, want)
		}
		for _, at := range times {
			if kept := at >= s.before && at < s.after; kept != slices.Contains(want, at) {
				t.Fatalf("cuts %d and %d: picture %d kept: %v", s.before, s.after, at, kept)
			}
		}
		if s.end <= s.last {
			t.Fatalf("the last picture, at %d, ends at %d", s.last, s.end)
		}
	})
}

func TestSeconds(t *testing.T) {
	t.Parallel()
	for m, want := range map[media.Micros]string{
		0: "0.000000", 1: "0.000001", -1: "-0.000001", 1_500_000: "1.500000", -12_000_250: "-12.000250", 36_000_000_000: "36000.000000",
	} {
		assert.Equal(t, want, seconds(m))
		back, ok := parseSeconds(want)
		assert.True(t, ok)
		assert.Equal(t, m, back)
	}
	for _, bad := range []string{"", "N/A", "NaN", "Inf", "-Inf", "1e300", "1:2"} {
		_, ok := parseSeconds(bad)
		assert.False(t, ok, bad)
	}
}

func TestClockTime(t *testing.T) {
	t.Parallel()
	for m, want := range map[media.Micros]string{
		0: "0:00.0", 3_665_240_000: "61:05.2", 59_960_000: "1:00.0", -1_500_000: "-0:01.5",
	} {
		assert.Equal(t, want, clockTime(m))
	}
}

func TestParsePacket(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		line string
		want packet
		ok   bool
	}{
		{"pts_time=0.060000|dts_time=-0.020000|size=3682|flags=K_\n", packet{Packet{60_000, 3682, true}, -20_000, true, false}, true},
		{"pts_time=0.060000|dts_time=-0.020000|size=3682|flags=K__\n", packet{Packet{60_000, 3682, true}, -20_000, true, false}, true},
		{"pts_time=-0.021333|dts_time=-0.021333|size=4|flags=KD", packet{Packet{-21_333, 4, true}, -21_333, true, true}, true},
		{"pts_time=N/A|dts_time=1.000000|size=5|flags=__", packet{Packet{1_000_000, 5, false}, 1_000_000, true, false}, true},
		{"pts_time=2.000000|dts_time=N/A|size=5|flags=__|", packet{Packet{2_000_000, 5, false}, 1_000_000, false, false}, true},
		{"pts_time=N/A|dts_time=N/A|size=5|flags=K_", packet{}, false},
		{"pts_time=1.0|dts_time=1.0|size=-5|flags=K_", packet{}, false},
		{"side_data|whatever", packet{}, false},
		{"", packet{}, false},
	} {
		got, ok := parsePacket(c.line)
		assert.Equal(t, c.ok, ok, c.line)
		if ok {
			assert.Equal(t, c.want, got, c.line)
		}
	}
}

func FuzzParsePackets(f *testing.F) {
	f.Add("pts_time=0.060000|dts_time=-0.020000|size=3682|flags=K_\n\npts_time=N/A|dts_time=1e99|size=1|flags=\n")
	f.Add(strings.Repeat("|", 9000) + "\nsize=1|pts_time=1")
	f.Fuzz(func(t *testing.T, text string) {
		assert.NoError(t, parsePackets(strings.NewReader(text), 5, func(p packet) error {
			assert.GreaterOrEqual(t, p.Size, 0)
			return nil
		}))
	})
}

// TestReadFrames holds our reading of an MP4's tables against ffprobe's.
func TestReadFrames(t *testing.T) {
	t.Parallel()
	for _, f := range []fftest.Film{plain, farKeys, fast, uneven, late, offset, turned, films[8].film} {
		path := fftest.Make(t, f)
		got, err := readFrames(path)
		require.NoError(t, err)
		tool := newTool(t)
		src, err := tool.source(t.Context(), path)
		require.NoError(t, err)
		want, err := tool.FrameTimes(t.Context(), path, media.Span{})
		require.NoError(t, err)
		for i := range want {
			want[i] += src.start // a clip made by us has none
		}
		require.Len(t, got, len(want), "%+v", f)
		for i := range got {
			assert.InDelta(t, float64(want[i]), float64(got[i]), 1, "%+v: picture %d", f, i)
		}
	}
}

func TestReadFramesFaults(t *testing.T) {
	t.Parallel()
	b, err := os.ReadFile(fftest.Make(t, fftest.Film{Seconds: 2}))
	require.NoError(t, err)
	for _, broken := range [][]byte{nil, []byte("no film"), b[:len(b)/2], bytes.ReplaceAll(b, []byte("stts"), []byte("xxxx")), bytes.ReplaceAll(b, []byte("vide"), []byte("xxxx"))} {
		path := t.TempDir() + "/film.mp4"
		require.NoError(t, os.WriteFile(path, broken, 0o600))
		_, err := readFrames(path)
		assert.Error(t, err)
	}
}

func whole(b []byte) *io.SectionReader {
	return io.NewSectionReader(bytes.NewReader(b), 0, int64(len(b)))
}

func FuzzMovie(f *testing.F) {
	for _, film := range []fftest.Film{{Seconds: 0.1, BFrames: 2}, {Seconds: 0.1, Late: 0.5, Sound: "none"}} {
		b, err := os.ReadFile(fftest.Make(f, film))
		require.NoError(f, err)
		moov, ok := box(whole(b), "moov")
		require.True(f, ok)
		content, err := io.ReadAll(moov)
		require.NoError(f, err)
		f.Add(content)
	}
	f.Fuzz(func(t *testing.T, moov []byte) {
		head := binary.BigEndian.AppendUint32(nil, uint32(8+len(moov)))
		m, err := findMovie(whole(slices.Concat(head, []byte("moov"), moov)))
		if err != nil {
			return
		}
		n := int64(0)
		err = m.walk(func(p packet) error {
			n++
			assert.GreaterOrEqual(t, p.Size, 0)
			return nil
		})
		if err == nil {
			assert.Equal(t, m.count, n)
		}
	})
}
