package scene_test

import (
	"context"
	"errors"
	"io"
	"math"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"netreel/media/fault"
	"netreel/media/scene"
	"netreel/media/scene/sound"
)

// The bat is heard at contact plus the way of its sound, 2.9 ms a metre at
// 343 m/s: looked for in the samples, as the steepest rise of what is left
// above 2 kHz.
func TestBatIsHeardWhenItsSoundArrives(t *testing.T) {
	for _, view := range []scene.View{scene.SideOn, scene.BehindTheArm} {
		s := scene.WinterSession(2)
		s.View, s.Neighbours, s.Talk, s.Noise, s.Blocks = view, 0, 0, 0, s.Blocks[:2]
		show, err := scene.New(s)
		require.NoError(t, err)
		var all []float64
		low := 0.0
		require.NoError(t, show.Sound().Stream(func(b []float32) error {
			for _, v := range b {
				low += (float64(v) - low) * 0.23 // one pole at about 2 kHz
				all = append(all, math.Abs(float64(v)-low))
			}
			return nil
		}))
		require.Len(t, all, int(math.Round(show.Truth().Seconds*sound.Rate)))
		n := 0
		for k, b := range show.Truth().Balls {
			if b.Contact == nil || b.Terms["contact"][0] != "middled" {
				continue
			}
			at := int(*b.Heard * sound.Rate)
			top := func(from, to float64) float64 {
				v := 0.0
				for _, s := range all[at+int(from*sound.Rate) : at+int(to*sound.Rate)] {
					v = max(v, s)
				}
				return v
			}
			require.Greater(t, top(-0.0005, 0.004), 4*top(-0.012, -0.001), "%s ball %d", view, k)
			n++
		}
		require.Greater(t, n, 6)
	}
}

func TestSilentScene(t *testing.T) {
	s := small(1)
	s.Silent = true
	show, err := scene.New(s)
	require.NoError(t, err)
	require.Nil(t, show.Sound())
	require.NoError(t, film(t, s, encoderFunc(func(f scene.Film, pictures func(io.Writer) error) error {
		require.Empty(t, f.Sound)
		return pictures(io.Discard)
	})))
}

type encoderFunc func(scene.Film, func(io.Writer) error) error

func (f encoderFunc) EncodeRaw(_ context.Context, film scene.Film, pictures func(io.Writer) error) error {
	return f(film, pictures)
}

func film(t *testing.T, s scene.Setting, e scene.Encoder) error {
	_, err := scene.Render(t.Context(), e, s, filepath.Join(t.TempDir(), "x.mp4"), nil)
	return err
}

// An encoder that fails, a pipe that breaks, a person who cancels: an error
// comes back, the sound file is gone, nobody is left painting.
func TestRenderStopsCleanly(t *testing.T) {
	defer goleak.VerifyNone(t)
	broken := errors.New("the pipe is broken")
	var wav string
	err := film(t, small(1), encoderFunc(func(f scene.Film, pictures func(io.Writer) error) error {
		wav = f.Sound
		require.FileExists(t, wav)
		return pictures(writerFunc(func(b []byte) (int, error) { return 0, broken }))
	}))
	require.ErrorIs(t, err, broken)
	require.NoFileExists(t, wav)

	ctx, cancel := context.WithCancel(t.Context())
	_, err = scene.Render(ctx, encoderFunc(func(_ scene.Film, pictures func(io.Writer) error) error {
		n := 0
		return pictures(writerFunc(func(b []byte) (int, error) {
			if n++; n == 3 {
				cancel()
			}
			return len(b), nil
		}))
	}), small(1), filepath.Join(t.TempDir(), "x.mp4"), nil)
	require.ErrorIs(t, err, context.Canceled)
}

type writerFunc func([]byte) (int, error)

func (f writerFunc) Write(b []byte) (int, error) { return f(b) }

func TestSettingsThatCannotBe(t *testing.T) {
	for field, spoil := range map[string]func(*scene.Setting){
		"width":                             func(s *scene.Setting) { s.Width = 1281 },
		"height":                            func(s *scene.Setting) { s.Height = 0 },
		"fps":                               func(s *scene.Setting) { s.FPS = math.NaN() },
		"view":                              func(s *scene.Setting) { s.View = "above" },
		"blocks":                            func(s *scene.Setting) { s.Blocks = nil },
		"balls":                             func(s *scene.Setting) { s.Blocks[0].Balls = 0 },
		"feed":                              func(s *scene.Setting) { s.Blocks[0].Feed = "catapult" },
		"drill":                             func(s *scene.Setting) { s.Blocks[0].Drill = "" },
		"bat":                               func(s *scene.Setting) { s.Blocks[0].Bat = "half-width" },
		"neighbours":                        func(s *scene.Setting) { s.Neighbours = 9 },
		"grain":                             func(s *scene.Setting) { s.Grain = -1 },
		"micGain":                           func(s *scene.Setting) { s.MicGain = math.Inf(1) },
		"leftShare, shadowShots":            func(s *scene.Setting) { s.ShadowShots = 2 },
		"every, gap":                        func(s *scene.Setting) { s.Every = -1 },
		"shake, noise, wind, talk, micDull": func(s *scene.Setting) { s.Talk = 1.5 },
	} {
		s := small(1)
		spoil(&s)
		_, err := scene.New(s)
		require.Equal(t, fault.Invalid, fault.KindOf(err), field)
		var f *fault.Error
		require.ErrorAs(t, err, &f)
		require.Len(t, f.Fields, 1, field)
		require.Equal(t, field, f.Fields[0].Name)
		require.NotEmpty(t, fault.Message(err))
	}
}
