package ffmpeg

import (
	"context"
	"encoding/binary"
	"errors"
	"io"
	"math"

	"netreel/media"
	"netreel/media/fault"
)

// SoundSpec says how sound is wanted.
type SoundSpec struct {
	Rate   int        // samples a second
	Within media.Span // on the file's own clock; zero: all
}

// Sound decodes a file's first sound track to mono and hands it to fn in
// pieces, -1 to 1. Sample n lies n/Rate seconds after the span's start (after
// the clock's zero for a zero span): a late start and gaps come as silence.
// A piece is valid only during the call. An error from fn ends it and is
// returned.
//
// It returns fault.Unsupported for a file without sound.
func (t *Tool) Sound(ctx context.Context, path string, s SoundSpec, fn func([]float32) error) error {
	const op = "ffmpeg.Sound"
	if s.Rate < 1000 || s.Rate > 192_000 {
		return fault.New(fault.Invalid, op, "The sample rate must lie between 1,000 and 192,000.")
	}
	src, err := t.source(ctx, path)
	if err != nil {
		return err
	}
	if !src.HasSound() {
		return fault.New(fault.Unsupported, op, "This recording has no sound.")
	}
	early := 0 // samples that are decoded before the span
	if s.Within != (media.Span{}) {
		s.Within.Start = max(0, s.Within.Start)
		early = int(math.Round((s.Within.Start - src.seekTo(s.Within.Start)).Seconds() * float64(s.Rate)))
	}
	return t.run(ctx, op, soundArgs(path, src, s), nil, process{
		stdout: func(r io.Reader) error {
			if _, err := io.CopyN(io.Discard, r, 4*int64(early)); err != nil && !errors.Is(err, io.EOF) {
				return err
			}
			return readSamples(r, fn)
		},
	})
}

// readSamples reads little-endian float32 until the end.
func readSamples(r io.Reader, fn func([]float32) error) error {
	const piece = 16 << 10
	raw, samples := make([]byte, 4*piece), make([]float32, piece)
	for {
		n, err := io.ReadFull(r, raw)
		n /= 4 // a torn last sample means that the tool is dying, and its exit code tells
		for i := range n {
			samples[i] = math.Float32frombits(binary.LittleEndian.Uint32(raw[4*i:]))
		}
		if n > 0 {
			if err := fn(samples[:n]); err != nil {
				return err
			}
		}
		switch {
		case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
			return nil
		case err != nil:
			return err
		}
	}
}
