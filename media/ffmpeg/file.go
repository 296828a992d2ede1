package ffmpeg

import (
	"context"

	"netreel/media"
)

// File is one file seen through a Tool, in the shape that the split wants.
type File struct {
	Tool *Tool
	Path string
}

// File is the file at a path, seen through t.
func (t *Tool) File(path string) File { return File{Tool: t, Path: path} }

// Sound is Tool.Sound over the whole file.
func (f File) Sound(ctx context.Context, rate int, fn func([]float32) error) error {
	return f.Tool.Sound(ctx, f.Path, SoundSpec{Rate: rate}, fn)
}

// Packets is Tool.Packets with its values spread out.
func (f File) Packets(ctx context.Context, fn func(at media.Micros, size int, key bool) error) error {
	return f.Tool.Packets(ctx, f.Path, func(p Packet) error { return fn(p.At, p.Size, p.Key) })
}

// Pictures is Tool.Pictures, roughly decoded, with its values spread out.
func (f File) Pictures(ctx context.Context, within media.Span, width, height int, fps float64, fn func(at media.Micros, grey, blue, red []byte) error) error {
	spec := PictureSpec{Width: width, Height: height, FPS: fps, Within: within, Rough: true, Colour: true}
	return f.Tool.Pictures(ctx, f.Path, spec, func(p Picture) error { return fn(p.At, p.Grey, p.Blue, p.Red) })
}

// SoundWithin is Tool.Sound over a stretch.
func (f File) SoundWithin(ctx context.Context, within media.Span, rate int, fn func([]float32) error) error {
	return f.Tool.Sound(ctx, f.Path, SoundSpec{Rate: rate, Within: within}, fn)
}

// Wave is Tool.Wave.
func (f File) Wave(ctx context.Context, within media.Span) ([]byte, error) {
	return f.Tool.Wave(ctx, f.Path, within)
}
