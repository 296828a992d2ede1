package ffmpeg

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/fault"
	"netreel/media/ffmpeg/fftest"
)

func TestProbe(t *testing.T) {
	t.Parallel()
	const s = media.Second
	for _, c := range []struct {
		name string
		film fftest.Film
		want media.Probe
	}{
		{"plain", fftest.Film{More: "-metadata creation_time=2026-01-17T10:30:00Z"}, media.Probe{
			Container: "mov,mp4,m4a,3gp,3g2,mj2", VideoCodec: "h264", Profile: "High", PixelFormat: "yuv420p", AudioCodec: "aac",
			Width: 320, Height: 180, FrameRate: 50, Duration: 4 * s, CreatedAt: new(time.Date(2026, 1, 17, 10, 30, 0, 0, time.UTC)),
		}},
		{"on its side", turned, media.Probe{
			Container: "mov,mp4,m4a,3gp,3g2,mj2", VideoCodec: "h264", Profile: "High", PixelFormat: "yuv420p", AudioCodec: "aac",
			Width: 180, Height: 320, Rotation: 90, FrameRate: 50, Duration: 4 * s,
		}},
		{"picture starts late", late, media.Probe{
			Container: "mov,mp4,m4a,3gp,3g2,mj2", VideoCodec: "h264", Profile: "High", PixelFormat: "yuv420p", AudioCodec: "aac",
			Width: 320, Height: 180, FrameRate: 50, VideoStart: 21_000, Duration: 4 * s,
		}},
		{"HEVC without sound, wide points", fftest.Film{Codec: "libx265", Sound: "none", Seconds: 2, FPS: 25, Ext: ".mkv", More: "-aspect 8:3"}, media.Probe{
			Container: "matroska,webm", VideoCodec: "hevc", Profile: "Main", PixelFormat: "yuv420p",
			Width: 480, Height: 180, FrameRate: 25, Duration: 2 * s,
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got, err := newTool(t).Probe(t.Context(), fftest.Make(t, c.film))
			require.NoError(t, err)
			assert.Equal(t, c.want, got)
		})
	}
}

// TestProbeFaults: what cannot be worked with is refused with a word on what to
// do.
func TestProbeFaults(t *testing.T) {
	t.Parallel()
	tool := newTool(t)
	film := func(t *testing.T, f fftest.Film) []byte {
		b, err := os.ReadFile(fftest.Make(t, f))
		require.NoError(t, err)
		return b
	}
	whole := fftest.Film{Seconds: 2}
	front := fftest.Film{Seconds: 2, More: "-movflags +faststart"}
	avi := fftest.Film{FPS: 25, Codec: "mpeg4", Ext: ".avi", Sound: "pcm_s16le", Seconds: 3}
	made := func(args ...string) func(*testing.T, string) {
		return func(t *testing.T, path string) { fftest.FFmpeg(t, append(args, path)...) }
	}
	written := func(data func(t *testing.T) []byte) func(*testing.T, string) {
		return func(t *testing.T, path string) { require.NoError(t, os.WriteFile(path, data(t), 0o600)) }
	}
	half := func(f fftest.Film) func(*testing.T, string) {
		return written(func(t *testing.T) []byte { b := film(t, f); return b[:len(b)/2] })
	}
	for _, c := range []struct {
		name string // also the file's
		make func(t *testing.T, path string)
		kind fault.Kind
		says string
	}{
		{"missing.mp4", func(*testing.T, string) {}, fault.NotFound, "no such file"},
		{"folder.mp4", func(t *testing.T, path string) { require.NoError(t, os.Mkdir(path, 0o700)) }, fault.Invalid, "folder"},
		{"empty.mp4", written(func(*testing.T) []byte { return nil }), fault.Invalid, "empty. Copy it from the camera again and upload it once more."},
		{"index-lost.mp4", half(whole), fault.Invalid, "incomplete: its end is missing. Copy it"},
		{"pictures-lost.mp4", half(front), fault.Invalid, "incomplete: its end is missing. Copy it"},
		{"end-lost.mkv", half(mkv), fault.Invalid, "incomplete: its end is missing. Copy it"},
		{"end-lost.avi", half(avi), fault.Invalid, "incomplete: its end is missing. Copy it"},
		{"index-zeroed.mp4", written(func(t *testing.T) []byte {
			return bytes.Replace(film(t, whole), []byte("moov"), []byte("none"), 1)
		}), fault.Invalid, "incomplete"},
		{"letter.txt", written(func(*testing.T) []byte { return []byte("Dear coach,\n") }), fault.Unsupported, "not a video"},
		{"noise.bin", written(func(*testing.T) []byte { return bytes.Repeat([]byte{0x13, 0x77, 0xfe}, 5000) }), fault.Unsupported, "not a video"},
		{"photo.jpg", made("-f", "lavfi", "-i", "testsrc2=s=320x180", "-frames:v", "1"), fault.Unsupported, "not a video"},
		{"playlist.mp4", written(func(t *testing.T) []byte {
			return []byte("#EXTM3U\n#EXT-X-TARGETDURATION:10\n#EXTINF:10,\nfile://" + fftest.Make(t, whole) + "\n#EXT-X-ENDLIST\n")
		}), fault.Unsupported, "not a video"},
		{"list.mp4", written(func(t *testing.T) []byte {
			return []byte("ffconcat version 1.0\nfile '" + fftest.Make(t, whole) + "'\n")
		}), fault.Unsupported, "not a video"},
		{"sound.m4a", made("-f", "lavfi", "-i", "sine=d=1"), fault.Invalid, "no moving picture"},
		{"strange-codec.mp4", written(func(t *testing.T) []byte {
			return bytes.Replace(film(t, whole), []byte("avc1\x00\x00\x00\x00\x00\x00\x00\x01"), []byte("zzzz\x00\x00\x00\x00\x00\x00\x00\x01"), 1)
		}), fault.Unsupported, "cannot be decoded here"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			path := filepath.Join(t.TempDir(), c.name)
			c.make(t, path)
			_, err := tool.Probe(t.Context(), path)
			require.Error(t, err)
			assert.Equal(t, c.kind, fault.KindOf(err), "%v", err)
			assert.Contains(t, fault.Message(err), c.says)
			assert.NotContains(t, fault.Message(err), path, "paths are for the log")
		})
	}
}

// TestProbeAgain: a file that is replaced is looked at anew.
func TestProbeAgain(t *testing.T) {
	t.Parallel()
	tool, path := newTool(t), filepath.Join(t.TempDir(), "film.mp4")
	for _, f := range []fftest.Film{{Seconds: 2}, {Seconds: 3}} {
		b, err := os.ReadFile(fftest.Make(t, f))
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(path, b, 0o600))
		for range 2 {
			p, err := tool.Probe(t.Context(), path)
			require.NoError(t, err)
			assert.Equal(t, media.FromSeconds(f.Seconds), p.Duration)
		}
	}
}

func TestParseProbe(t *testing.T) {
	t.Parallel()
	video := func(more string) string {
		return `{"codec_type":"video","codec_name":"h264","width":1920,"height":1080,"time_base":"1/90000","duration":"3.5"` + more + `}`
	}
	for _, c := range []struct {
		name, streams, format string
		check                 func(*testing.T, source, error)
	}{
		{"older rotation tag", video(`,"tags":{"rotate":"270"}`), "", func(t *testing.T, s source, err error) {
			require.NoError(t, err)
			assert.Equal(t, []int{270, 1080, 1920}, []int{s.Rotation, s.Width, s.Height})
		}},
		{"matrix, anticlockwise", video(`,"side_data_list":[{},{"rotation":90}]`), "", func(t *testing.T, s source, err error) {
			require.NoError(t, err)
			assert.Equal(t, 270, s.Rotation)
		}},
		{"matrix, upside down", video(`,"side_data_list":[{"rotation":-180}]`), "", func(t *testing.T, s source, err error) {
			require.NoError(t, err)
			assert.Equal(t, []int{180, 1920}, []int{s.Rotation, s.Width})
		}},
		{"cover picture first", `{"codec_type":"video","codec_name":"mjpeg","disposition":{"attached_pic":1}},` + video(""), "", func(t *testing.T, s source, err error) {
			require.NoError(t, err)
			assert.Equal(t, "h264", s.VideoCodec)
		}},
		{"only a cover picture", `{"codec_type":"audio","codec_name":"mp3"},{"codec_type":"video","disposition":{"attached_pic":1}}`, "", func(t *testing.T, _ source, err error) {
			assert.Equal(t, fault.Invalid, fault.KindOf(err))
		}},
		{"clock of the file", video(`,"start_time":"1.421333"`), `"start_time":"1.400000"`, func(t *testing.T, s source, err error) {
			require.NoError(t, err)
			assert.Equal(t, []media.Micros{1_400_000, 21_333}, []media.Micros{s.start, s.VideoStart})
		}},
		{"length of the file alone", `{"codec_type":"video","codec_name":"h264","width":2,"height":2,"time_base":"1/1000","start_time":"0.5","duration":"N/A"}`, `"duration":"3.5"`, func(t *testing.T, s source, err error) {
			require.NoError(t, err)
			assert.Equal(t, 3*media.Second, s.Duration)
		}},
		{"rates", video(`,"avg_frame_rate":"0/0","r_frame_rate":"30000/1001"`), "", func(t *testing.T, s source, err error) {
			require.NoError(t, err)
			assert.InDelta(t, 29.97, s.FrameRate, 0.001)
		}},
		{"clock never set", video(`,"tags":{"creation_time":"1904-01-01T00:00:00Z"}`), "", func(t *testing.T, s source, err error) {
			require.NoError(t, err)
			assert.Nil(t, s.CreatedAt)
		}},
		{"no size", `{"codec_type":"video","time_base":"1/1000","duration":"1"}`, "", func(t *testing.T, _ source, err error) {
			assert.Contains(t, fault.Message(err), "no size")
		}},
		{"no clock", `{"codec_type":"video","width":2,"height":2,"duration":"1"}`, "", func(t *testing.T, _ source, err error) {
			assert.Contains(t, fault.Message(err), "no clock")
		}},
		{"no length", `{"codec_type":"video","time_base":"1/1000","width":2,"height":2}`, "", func(t *testing.T, _ source, err error) {
			assert.Contains(t, fault.Message(err), "length is zero")
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s, err := parseProbe([]byte(`{"streams":[` + c.streams + `],"format":{` + c.format + `}}`))
			c.check(t, s, err)
		})
	}
}

// FuzzParseProbe: whatever ffprobe prints, a source that is accepted can be
// reckoned with.
func FuzzParseProbe(f *testing.F) {
	f.Add([]byte(`{"streams":[{"codec_type":"video","codec_name":"h264","width":1920,"height":1080,"sample_aspect_ratio":"4:3",
		"time_base":"1/90000","duration":"3.5","start_time":"-0.02","avg_frame_rate":"50/1","side_data_list":[{"rotation":-90}],
		"disposition":{"attached_pic":0},"tags":{"rotate":"90"}},{"codec_type":"audio"}],
		"format":{"format_name":"mov","start_time":"N/A","duration":"1e300","tags":{"creation_time":"2026-01-17T10:30:00.000000Z"}}}`))
	f.Add([]byte(`{"streams":[{"codec_type":"video","width":1,"height":99999999,"sample_aspect_ratio":"99999999:1","time_base":"0/1","duration":"NaN"}]}`))
	f.Add([]byte(`{}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := parseProbe(text)
		if err != nil {
			assert.NotEmpty(t, fault.Message(err))
			return
		}
		assert.Positive(t, s.Width)
		assert.Positive(t, s.Height)
		assert.Positive(t, s.Duration)
		assert.Positive(t, s.tick.float())
		assert.GreaterOrEqual(t, s.FrameRate, 0.0)
		assert.Contains(t, []int{0, 90, 180, 270}, s.Rotation)
	})
}

func FuzzMissingBytes(f *testing.F) {
	f.Add([]byte("RIFF\xff\xff\xff\x7fAVI "), int64(12))
	f.Add([]byte("\x1a\x45\xdf\xa3\x80\x18\x53\x80\x67\x01\xff\xff\xff\xff\xff\xff\xff"), int64(100))
	f.Add([]byte("\x1a\x45\xdf\xa3\x80\x18\x53\x80\x67\x01\x00\x00\x00\x00\x00\x10\x00"), int64(100))
	f.Add([]byte("\x00\x00\x00\x08ftyp\x00\x00\x00\x01mdat\xff\xff\xff\xff\xff\xff\xff\xff"), int64(24))
	f.Add([]byte("\x00\x00\x00\x08wide\x00\x00\x00\x00mdat"), int64(16))
	f.Fuzz(func(t *testing.T, data []byte, size int64) {
		missing, err := missingBytes(bytes.NewReader(data), max(size, int64(len(data))))
		assert.NoError(t, err)
		assert.GreaterOrEqual(t, missing, int64(0))
	})
}

func TestVersion(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		banner       string
		major, minor int
		ok           bool
	}{
		{"ffmpeg version 5.1.9-0+deb12u1 Copyright (c) 2000", 5, 1, true},
		{"ffmpeg version 8.0 Copyright", 8, 0, true},
		{"ffmpeg version n7.1-12-gabc", 7, 1, true},
		{"ffmpeg version N-113007-g8d24a28d06 Copyright", 0, 0, false},
		{"ffmpeg version 2024-01-01-git Copyright", 0, 0, false},
		{"", 0, 0, false},
	} {
		major, minor, ok := version(c.banner)
		assert.Equal(t, c.ok, ok, c.banner)
		if ok {
			assert.Equal(t, []int{c.major, c.minor}, []int{major, minor}, c.banner)
		}
	}
}

// TestFindFaults changes the PATH, so it does not run beside others.
func TestFindFaults(t *testing.T) {
	dir, _, _ := stage(t)
	t.Setenv("PATH", t.TempDir())
	_, err := Find(testLog(t))
	assert.Equal(t, fault.Unavailable, fault.KindOf(err))
	assert.Contains(t, fault.Message(err), "is not installed: run deploy/setup.sh")

	for role, says := range map[string]string{"fails": "does not run", "old": "too old"} {
		bin := t.TempDir()
		for _, name := range []string{"ffmpeg", "ffprobe"} {
			require.NoError(t, os.WriteFile(filepath.Join(bin, name), []byte("#!/bin/sh\nexec "+filepath.Join(dir, role)+"\n"), 0o700))
		}
		t.Setenv("PATH", bin)
		_, err = Find(testLog(t))
		assert.Equal(t, fault.Unavailable, fault.KindOf(err))
		assert.Contains(t, fault.Message(err), says)
	}
}
