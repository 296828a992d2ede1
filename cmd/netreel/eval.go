package main

import (
	"context"
	"encoding/binary"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"

	"netreel/media"
	"netreel/media/fault"
	"netreel/media/ffmpeg"
	"netreel/media/scene/plain"
	"netreel/media/split"
)

// evalScene is a scene that has been made, with its truth.
type evalScene struct {
	world *plain.World
	film  string // MP4
	wav   string // its sound as it was before encoding; "" if it is mute
}

// runEval renders a list of scenes, splits them and prints how well that went.
func runEval(ctx context.Context, args []string, stdout, stderr io.Writer, log *slog.Logger) error {
	const op = "eval"
	flags := flag.NewFlagSet("eval", flag.ContinueOnError)
	flags.SetOutput(stderr)
	set := flags.String("set", "tuning", "which scenes: tuning, or judging (seldom, and only for its figures)")
	dir := flags.String("dir", filepath.Join(os.TempDir(), "netreel-eval"), "where the rendered scenes are kept for the next time")
	only := flags.String("only", "", "only scenes whose name contains this")
	plainly := flags.Bool("without-reference", false, "leave the general-purpose onset detector out")
	detail := flags.Bool("detail", false, "list what was missed and what was found in error (tuning only)")
	if err := flags.Parse(args); err != nil {
		return err
	}
	list := map[string][]plain.Setting{"tuning": plain.Tuning(), "judging": plain.Judging()}[*set]
	if list == nil || flags.NArg() != 0 {
		return fault.New(fault.Invalid, op, "The scenes are tuning or judging.")
	}
	if *detail && *set == "judging" {
		return fault.New(fault.Invalid, op, "What is judged by is not looked at one by one: ask for its figures alone.")
	}
	tool, err := ffmpeg.Find(log)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(*dir, 0o755); err != nil {
		return err
	}
	lib := plain.Load(os.DirFS("/"))
	if !lib.Installed() {
		fmt.Fprintln(stderr, "netreel: no recorded sounds here, all are calculated: install hydrogen-drumkits and asterisk-core-sounds-en-wav")
	}
	e := evaluation{out: stdout, detail: *detail}
	e.head()
	for _, s := range list {
		if !strings.Contains(s.Name, *only) {
			continue
		}
		scene, err := makeScene(ctx, tool, *dir, s, lib)
		if err != nil {
			return err
		}
		probe, err := tool.Probe(ctx, scene.film)
		if err != nil {
			return err
		}
		found, err := split.Find(ctx, tool.File(scene.film), probe, split.Watch{})
		if err != nil {
			return err
		}
		reference := -1.0
		if !*plainly && scene.wav != "" && !s.Silent && len(scene.world.Balls) > 0 {
			if reference, err = bestOnsets(ctx, tool, scene); err != nil {
				fmt.Fprintln(stderr, "netreel:", fault.Message(err))
				*plainly = true
			}
		}
		e.scene(scene.world, found, reference)
	}
	e.overall()
	return nil
}

// makeScene renders a scene into a folder, or finds it there. A scene's file is
// named by its settings, so that a changed one is made anew.
func makeScene(ctx context.Context, tool *ffmpeg.Tool, dir string, s plain.Setting, lib *plain.Library) (evalScene, error) {
	base := filepath.Join(dir, sceneName(s))
	scene := evalScene{world: plain.New(s, lib), film: base + ".mp4"}
	sound := scene.world.Sound()
	if sound != nil {
		scene.wav = base + ".wav"
	}
	if exists(scene.film) && (scene.wav == "" || exists(scene.wav)) {
		return scene, nil
	}
	if sound != nil {
		if err := writeWAV(scene.wav, sound); err != nil {
			return scene, err
		}
	}
	w, h := scene.world.Stored()
	tmp := base + ".part.mp4"
	err := tool.EncodeRough(ctx, ffmpeg.Rough{
		Raw:    ffmpeg.Raw{Width: w, Height: h, FPS: s.FPS, Sound: scene.wav, Dst: tmp, Preset: "ultrafast"},
		Turned: s.Rotate == 90, Drop: s.Drop, Bitrate: s.Bitrate,
	}, func(out io.Writer) error {
		buf := make([]byte, w*h*3/2)
		for i := range scene.world.Frames() {
			scene.world.Picture(i, buf)
			if _, err := out.Write(buf); err != nil {
				return err
			}
		}
		return ctx.Err()
	})
	if err != nil {
		return scene, err
	}
	return scene, os.Rename(tmp, scene.film)
}

// writeWAV writes 16-bit mono PCM in a WAVE file (RIFF, format tag 1).
func writeWAV(path string, sound []float32) error {
	raw := make([]byte, 0, 44+2*len(sound))
	raw = append(raw, "RIFF"...)
	raw = binary.LittleEndian.AppendUint32(raw, uint32(36+2*len(sound)))
	raw = append(raw, "WAVEfmt "...)
	for _, v := range []uint32{16, 1 | 1<<16, plain.Rate, 2 * plain.Rate, 2 | 16<<16} {
		raw = binary.LittleEndian.AppendUint32(raw, v)
	}
	raw = append(raw, "data"...)
	raw = binary.LittleEndian.AppendUint32(raw, uint32(2*len(sound)))
	for _, v := range sound {
		raw = binary.LittleEndian.AppendUint16(raw, uint16(int16(min(max(v, -1), 1)*32767)))
	}
	return os.WriteFile(path, raw, 0o644)
}

// bestOnsets is the F1 of a general-purpose onset detector on a scene's sound,
// at the method and threshold that are best for it, chosen with the truth in
// hand.
func bestOnsets(ctx context.Context, tool *ffmpeg.Tool, s evalScene) (float64, error) {
	truth := trueMarks(s.world)
	best := 0.0
	for _, method := range []string{"complex", "hfc"} {
		for _, threshold := range []float64{0.3, 0.6, 1, 1.5, 2, 3, 5} {
			onsets, err := tool.Onsets(ctx, s.wav, method, threshold)
			if err != nil {
				return 0, err
			}
			var found []media.Delivery
			for _, at := range onsets {
				if n := len(found); n == 0 || at-*found[n-1].Contact > media.Second {
					found = append(found, mark(at, true))
				}
			}
			best = max(best, split.Score(found, truth, markTolerance).F1)
		}
	}
	return best, nil
}
