package ffmpeg

import (
	"context"
	"os"

	"netreel/media"
	"netreel/media/fault"
)

// Poster writes the picture that is on screen at a time (on the source's own
// clock) as a JPEG, upright, at most width pixels wide. Before the film's
// beginning that is its first picture, after its end the last. On failure no
// file is left.
func (t *Tool) Poster(ctx context.Context, src string, at media.Micros, width int, dst string) error {
	const op = "ffmpeg.Poster"
	if width < 2 {
		return fault.New(fault.Invalid, op, "The width must be at least 2 pixels.")
	}
	s, err := t.source(ctx, src)
	if err != nil {
		return err
	}
	at = min(max(at, s.VideoStart), s.VideoStart+s.Duration)
	part, err := t.stretch(ctx, op, src, media.Span{Start: at, End: at + 1})
	if err != nil {
		return err
	}
	if err := t.run(ctx, op, posterArgs(src, s, part, width, dst), nil, process{}); err != nil {
		return discard(err, dst)
	}
	// A picture that cannot be decoded leaves an empty file and exit code 0.
	if info, err := os.Stat(dst); err != nil || info.Size() == 0 {
		return discard(noPictures(op, errNone), dst)
	}
	if err := syncFile(dst); err != nil {
		return discard(fault.Wrap(err, fault.Unavailable, op, "The still could not be stored. Free some disk space, then try again."), dst)
	}
	return nil
}
