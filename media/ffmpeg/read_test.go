package ffmpeg

import (
	"encoding/binary"
	"errors"
	"image/jpeg"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/fault"
	"netreel/media/ffmpeg/fftest"
)

var errEnough = errors.New("enough")

// listen collects a file's sound.
func listen(t *testing.T, tool *Tool, path string, spec SoundSpec) []float32 {
	t.Helper()
	var samples []float32
	require.NoError(t, tool.Sound(t.Context(), path, spec, func(s []float32) error {
		samples = append(samples, s...)
		return nil
	}))
	return samples
}

// TestSound: clicks come at every half second of the file's own clock, whatever
// the container, and wherever the reading begins.
func TestSound(t *testing.T) {
	t.Parallel()
	const rate = 16000
	for _, c := range []struct {
		name string
		film fftest.Film
		zero float64 // the film's begin on the file's clock: AAC's lead-in in a transport stream
	}{
		{"plain", plain, 0},
		{"picture starts late", late, 0},
		{"container's clock begins at 5 s", offset, 0.022},
		{"transport stream", transport, 0.0213},
		{"MOV, PCM", sixhundred, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			tool, path := newTool(t), fftest.Make(t, c.film)
			for _, within := range []media.Span{{}, {Start: 1_200_000, End: 3_250_000}} {
				samples := listen(t, tool, path, SoundSpec{Rate: rate, Within: within})
				length := 4.0
				if within != (media.Span{}) {
					length = within.Length().Seconds()
				}
				assert.InDelta(t, length, float64(len(samples))/rate, 0.06)
				clicks := fftest.Clicks(samples, rate)
				require.NotEmpty(t, clicks)
				for i, at := range clicks {
					at += within.Start.Seconds() - c.zero
					assert.InDelta(t, float64(int(at))+0.5, at, 0.003, "click %d of %v", i, clicks)
				}
				assert.Len(t, clicks, int(length+0.01))
			}
		})
	}
}

// TestWave has ffprobe, which did not write it, read the header, and hears the
// click where it was.
func TestWave(t *testing.T) {
	t.Parallel()
	tool := newTool(t)
	wave, err := tool.Wave(t.Context(), fftest.Make(t, plain), media.Span{Start: 2_000_000, End: 3_000_000})
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "piece.wav")
	require.NoError(t, os.WriteFile(path, wave, 0o600))
	said, err := exec.CommandContext(t.Context(), "ffprobe", "-v", "error", "-show_entries", "stream=codec_name,sample_rate,channels,duration_ts", "-of", "csv=p=0", path).Output()
	require.NoError(t, err)
	assert.Equal(t, "pcm_s16le,22050,1,22050", strings.TrimSpace(string(said)))
	samples := make([]float32, (len(wave)-44)/2)
	for i := range samples {
		samples[i] = float32(int16(binary.LittleEndian.Uint16(wave[44+2*i:]))) / 32768
	}
	clicks := fftest.Clicks(samples, 22050)
	require.Len(t, clicks, 1)
	assert.InDelta(t, 0.5, clicks[0], 0.003)
	_, err = tool.Wave(t.Context(), fftest.Make(t, silent), media.Span{End: media.Second})
	assert.Equal(t, fault.Unsupported, fault.KindOf(err))
}

func TestSoundFaults(t *testing.T) {
	t.Parallel()
	tool, path := newTool(t), fftest.Make(t, plain)
	none := func([]float32) error { return nil }
	err := tool.Sound(t.Context(), fftest.Make(t, silent), SoundSpec{Rate: 16000}, none)
	assert.Equal(t, fault.Unsupported, fault.KindOf(err))
	assert.Equal(t, "This recording has no sound.", fault.Message(err))
	err = tool.Sound(t.Context(), path, SoundSpec{}, none)
	assert.Equal(t, fault.Invalid, fault.KindOf(err))
	err = tool.Sound(t.Context(), path, SoundSpec{Rate: 16000}, func([]float32) error { return errEnough })
	assert.ErrorIs(t, err, errEnough)
}

// TestPictures holds the times of decoded pictures against those that the
// container lists, and their numbers against how the film was made.
func TestPictures(t *testing.T) {
	t.Parallel()
	for _, c := range films {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			tool, path := newTool(t), fftest.Make(t, c.film)
			seen := truthOf(t, tool, c.film)
			times, err := tool.FrameTimes(t.Context(), path, media.Span{})
			require.NoError(t, err)
			require.Len(t, seen, c.film.Pictures())
			require.Len(t, times, len(seen))
			for i, s := range seen {
				require.Equal(t, i, s.n)
				require.Equal(t, times[i], s.at)
			}
			within := media.Span{Start: times[30] + 1, End: times[45]}
			part, err := tool.FrameTimes(t.Context(), path, within)
			require.NoError(t, err)
			assert.Equal(t, times[31:45], part)
			var at []media.Micros
			require.NoError(t, tool.Pictures(t.Context(), path, PictureSpec{Width: 16, Height: 16, Within: within}, func(p Picture) error {
				at = append(at, p.At)
				return nil
			}))
			assert.Equal(t, times[31:45], at)
		})
	}
}

// TestPicturesInColour holds the colour differences of plain colours against
// Rec. ITU-R BT.601, 2.5.1: Cb and Cr are 0.564 (B-Y) and 0.713 (R-Y) about 128,
// with Y 0.299 R + 0.587 G + 0.114 B.
func TestPicturesInColour(t *testing.T) {
	t.Parallel()
	tool := newTool(t)
	for name, rgb := range map[string][3]float64{"A01E28": {0xA0, 0x1E, 0x28}, "3C8C46": {0x3C, 0x8C, 0x46}, "808080": {0x80, 0x80, 0x80}} {
		path := filepath.Join(t.TempDir(), "colour.mp4")
		fftest.FFmpeg(t, "-f", "lavfi", "-i", "color=0x"+name+":s=64x48:r=25:d=0.2", "-pix_fmt", "yuv420p", path)
		y := 0.299*rgb[0] + 0.587*rgb[1] + 0.114*rgb[2]
		n := 0
		require.NoError(t, tool.Pictures(t.Context(), path, PictureSpec{Width: 16, Height: 16, Colour: true}, func(p Picture) error {
			for _, plane := range [][]byte{p.Grey, p.Blue, p.Red} {
				require.Len(t, plane, 16*16)
			}
			assert.InDelta(t, y, float64(p.Grey[100]), 3, name)
			assert.InDelta(t, 128+0.564*(rgb[2]-y), float64(p.Blue[100]), 3, name)
			assert.InDelta(t, 128+0.713*(rgb[0]-y), float64(p.Red[100]), 3, name)
			n++
			return nil
		}))
		assert.Equal(t, 5, n)
	}
	path := fftest.Make(t, plain)
	require.NoError(t, tool.Pictures(t.Context(), path, PictureSpec{Width: 16, Height: 16}, func(p Picture) error {
		assert.Nil(t, p.Blue)
		assert.Nil(t, p.Red)
		return nil
	}))
}

func TestPicturesFewer(t *testing.T) {
	t.Parallel()
	tool, path := newTool(t), fftest.Make(t, plain)
	for _, c := range []struct {
		name string
		spec PictureSpec
		want []media.Micros
	}{
		{"12.5 a second", PictureSpec{FPS: 12.5, Within: media.Span{Start: 1_000_000, End: 1_300_000}}, []media.Micros{1_000_000, 1_040_000, 1_120_000, 1_200_000, 1_280_000}},
		{"30 a second", PictureSpec{FPS: 30, Within: media.Span{Start: 1_000_000, End: 1_200_000}}, []media.Micros{1_000_000, 1_040_000, 1_080_000, 1_100_000, 1_140_000, 1_180_000}},
		{"more than there are", PictureSpec{FPS: 500, Within: media.Span{Start: 1_000_000, End: 1_050_000}}, []media.Micros{1_000_000, 1_020_000, 1_040_000}},
		{"key frames", PictureSpec{KeyOnly: true, Within: media.Span{Start: 1_500_000, End: 3_000_000}}, []media.Micros{2_000_000}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			c.spec.Width, c.spec.Height = 32, 18
			var got []media.Micros
			require.NoError(t, tool.Pictures(t.Context(), path, c.spec, func(p Picture) error {
				assert.Len(t, p.Grey, 32*18)
				got = append(got, p.At)
				return nil
			}))
			assert.Equal(t, c.want, got)
		})
	}
	err := tool.Pictures(t.Context(), path, PictureSpec{Width: 32, Height: 18}, func(Picture) error { return errEnough })
	assert.ErrorIs(t, err, errEnough)
	err = tool.Pictures(t.Context(), path, PictureSpec{Width: 32}, nil)
	assert.Equal(t, fault.Invalid, fault.KindOf(err))
}

func TestPackets(t *testing.T) {
	t.Parallel()
	tool, path := newTool(t), fftest.Make(t, plain)
	n, keys := 0, 0
	require.NoError(t, tool.Packets(t.Context(), path, func(p Packet) error {
		n++
		assert.Positive(t, p.Size)
		if p.Key {
			assert.Equal(t, media.Micros(keys)*media.Second, p.At)
			keys++
		}
		return nil
	}))
	assert.Equal(t, []int{200, 4}, []int{n, keys})
	assert.ErrorIs(t, tool.Packets(t.Context(), path, func(Packet) error { return errEnough }), errEnough)
}

// TestPacketsOfTables holds our reading of a container's tables against
// ffprobe's.
func TestPacketsOfTables(t *testing.T) {
	t.Parallel()
	for _, c := range films {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			tool, path := newTool(t), fftest.Make(t, c.film)
			var got, want []Packet
			require.NoError(t, tool.Packets(t.Context(), path, func(p Packet) error {
				got = append(got, p)
				return nil
			}))
			require.NoError(t, tool.packets(t.Context(), path, media.Span{}, func(p packet) error {
				want = append(want, p.Packet)
				return nil
			}))
			require.Len(t, got, len(want))
			for i, p := range want {
				assert.InDelta(t, float64(p.At), float64(got[i].At), 1, "packet %d", i)
				p.At = got[i].At
				assert.Equal(t, p, got[i], "packet %d", i)
			}
		})
	}
}

// TestPacketsOfPieces: a fragmented MP4 has no tables to read.
func TestPacketsOfPieces(t *testing.T) {
	t.Parallel()
	tool, path := newTool(t), filepath.Join(t.TempDir(), "pieces.mp4")
	fftest.FFmpeg(t, "-i", fftest.Make(t, plain), "-c", "copy", "-movflags", "frag_keyframe+empty_moov", path)
	n := 0
	require.NoError(t, tool.Packets(t.Context(), path, func(Packet) error { n++; return nil }))
	assert.Equal(t, plain.Pictures(), n)
}

// TestPoster reads back which picture a poster is.
func TestPoster(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		film fftest.Film
	}{
		{"key frames 5 s apart", farKeys}, {"variable rate", uneven}, {"transport stream", transport}, {"container's clock begins at 5 s", offset},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			tool, src := newTool(t), fftest.Make(t, c.film)
			times, err := tool.FrameTimes(t.Context(), src, media.Span{})
			require.NoError(t, err)
			for at, want := range map[media.Micros]int{
				times[77]: 77, times[79] - 1: 78, times[0] - 5*media.Second: 0, 99 * media.Second: len(times) - 1,
			} {
				dst := filepath.Join(t.TempDir(), "poster.jpg")
				require.NoError(t, tool.Poster(t.Context(), src, at, 4000, dst))
				assert.Equal(t, want, jpegNumber(t, dst), "at %d", at)
			}
		})
	}
}

func jpegNumber(t *testing.T, path string) int {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer func() { assert.NoError(t, f.Close()) }()
	img, err := jpeg.Decode(f)
	require.NoError(t, err)
	require.Equal(t, fftest.Width, img.Bounds().Dx(), "never enlarged")
	require.Equal(t, fftest.Height, img.Bounds().Dy())
	grey := make([]byte, fftest.Width*fftest.Height)
	for i := range grey {
		r, _, _, _ := img.At(i%fftest.Width, i/fftest.Width).RGBA()
		grey[i] = byte(r >> 8)
	}
	return fftest.Number(grey)
}

func TestPosterUpright(t *testing.T) {
	t.Parallel()
	dst := filepath.Join(t.TempDir(), "poster.jpg")
	require.NoError(t, newTool(t).Poster(t.Context(), fftest.Make(t, turned), media.Second, 90, dst))
	f, err := os.Open(dst)
	require.NoError(t, err)
	defer func() { assert.NoError(t, f.Close()) }()
	size, err := jpeg.DecodeConfig(f)
	require.NoError(t, err)
	assert.Equal(t, []int{90, 160}, []int{size.Width, size.Height})
}

// TestEncodeRaw reads the pictures back that it wrote.
func TestEncodeRaw(t *testing.T) {
	t.Parallel()
	tool, dir := newTool(t), t.TempDir()
	wav := filepath.Join(dir, "sound.wav")
	fftest.FFmpeg(t, "-f", "lavfi", "-i", "sine=d=2:r=48000", wav)
	const width, height, count = 64, 48, 60
	shade := func(n int) byte { return byte(40 + 3*n) }
	for _, sound := range []string{"", wav} {
		dst := filepath.Join(dir, "film.mp4")
		require.NoError(t, tool.EncodeRaw(t.Context(), Raw{Width: width, Height: height, FPS: 30, Sound: sound, Dst: dst}, func(w io.Writer) error {
			frame := make([]byte, width*height*3/2)
			for n := range count {
				for i := range frame {
					frame[i] = 128
					if i < width*height {
						frame[i] = shade(n)
					}
				}
				if _, err := w.Write(frame); err != nil {
					return err
				}
			}
			return nil
		}))
		p, err := tool.Probe(t.Context(), dst)
		require.NoError(t, err)
		assert.Equal(t, 2*media.Second, p.Duration)
		assert.Equal(t, 30.0, p.FrameRate)
		assert.Equal(t, sound != "", p.HasSound())
		assert.True(t, p.BrowserShows())
		colours, err := tool.capture(t.Context(), "test", tool.ffprobe, "-v", "error", "-select_streams", "v", "-of", "csv=p=0",
			"-show_entries", "stream=color_range,color_space,color_transfer,color_primaries", dst)
		require.NoError(t, err)
		assert.Equal(t, "tv,bt709,bt709,bt709", strings.TrimSpace(string(colours)), "what scene paints in, so that no player has to guess")
		n := 0
		require.NoError(t, tool.Pictures(t.Context(), dst, PictureSpec{Width: width, Height: height}, func(p Picture) error {
			// Limited range (16 to 235) comes out as full: Rec. ITU-R BT.601, 2.5.3.
			want := (float64(shade(n)) - 16) * 255 / 219
			assert.InDelta(t, want, float64(p.Grey[0]), 4)
			assert.InDelta(t, float64(n)/30, p.At.Seconds(), 1e-5)
			n++
			return nil
		}))
		assert.Equal(t, count, n)
	}
}

// TestNothingLeft: a run that fails leaves no file.
func TestNothingLeft(t *testing.T) {
	t.Parallel()
	tool, src, dir := newTool(t), fftest.Make(t, plain), t.TempDir()
	dst := filepath.Join(dir, "film.mp4")
	span := media.Span{Start: media.Second, End: 3 * media.Second}
	err := tool.EncodeRaw(t.Context(), Raw{Width: 64, Height: 48, FPS: 30, Dst: dst}, func(w io.Writer) error {
		_, err := w.Write(make([]byte, 64*48*3/2*40))
		return errors.Join(err, errEnough)
	})
	assert.ErrorIs(t, err, errEnough)
	err = tool.EncodeRaw(t.Context(), Raw{Width: 64, Height: 48, FPS: 30, Dst: dst}, func(io.Writer) error { return nil })
	assert.Error(t, err, "a film without pictures")
	_, err = tool.Smooth(t.Context(), src, Smooth{Span: span, Height: 720, Dst: filepath.Join(dir, "none", "x.mp4")}, nil)
	assert.Error(t, err)
	_, err = tool.CutMany(t.Context(), src, []Cut{{span, dst}, {span, filepath.Join(dir, "none", "x.mp4")}}, nil)
	assert.Error(t, err)
	for _, bad := range []media.Span{{}, {Start: 2, End: 1}, {Start: 9 * media.Second, End: 10 * media.Second}, {Start: -2, End: -1}} {
		_, err = tool.CutMany(t.Context(), src, []Cut{{span, dst}, {bad, dst}}, nil)
		assert.Equal(t, fault.Invalid, fault.KindOf(err))
		_, err = tool.Smooth(t.Context(), src, Smooth{Span: bad, Height: 720, Dst: dst}, nil)
		assert.Equal(t, fault.Invalid, fault.KindOf(err))
	}
	err = tool.Poster(t.Context(), src, 0, 0, dst)
	assert.Equal(t, fault.Invalid, fault.KindOf(err))
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, left)
	done, err := tool.CutMany(t.Context(), src, nil, nil)
	require.NoError(t, err)
	assert.Empty(t, done)
}
