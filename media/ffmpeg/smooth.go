package ffmpeg

import (
	"context"
	"errors"
	"math"

	"netreel/media"
	"netreel/media/fault"
)

// Smooth asks for a clip that any browser shows and seeks in at once.
type Smooth struct {
	Span   media.Span // on the source's own clock
	Height int        // pixels; a smaller source keeps its own
	Dst    string     // staging path of the MP4 to write
}

// SmoothDone is a smooth clip.
type SmoothDone struct {
	First  media.Micros   // the first picture's time on the source's clock, where the clip's clock is zero
	Frames []media.Micros // when each picture is shown, on the clip's clock
}

// Smooth encodes a stretch of a film anew, exact to the picture: from the one
// that is on screen at the span's start to the last one before its end, each at
// its own time (a variable rate stays variable), upright, with square pixels
// and the sound in step. Key frames come every half second and no picture
// refers to a later one, so that a browser seeks in a few milliseconds.
//
// On failure no file is left. It returns fault.Invalid for a span that is empty
// or beyond the film.
func (t *Tool) Smooth(ctx context.Context, src string, sm Smooth, onProgress func(float64)) (SmoothDone, error) {
	const op = "ffmpeg.Smooth"
	s, err := t.source(ctx, src)
	if err != nil {
		return SmoothDone{}, err
	}
	if err := checkSpan(op, sm.Span, s); err != nil {
		return SmoothDone{}, err
	}
	if sm.Height < 2 {
		return SmoothDone{}, fault.New(fault.Invalid, op, "The height must be at least 2 pixels.")
	}
	part, err := t.stretch(ctx, op, src, sm.Span)
	if err != nil {
		return SmoothDone{}, err
	}
	if err := t.run(ctx, op, smoothArgs(src, s, sm, part), &meter{total: part.count, fn: onProgress}, process{}); err != nil {
		return SmoothDone{}, discard(err, sm.Dst)
	}
	frames, err := t.checkSmooth(ctx, op, sm.Dst, part)
	if err != nil {
		return SmoothDone{}, discard(err, sm.Dst)
	}
	return SmoothDone{First: part.first, Frames: frames}, nil
}

// stretch finds the pictures that are on screen during a span.
func (t *Tool) stretch(ctx context.Context, op, src string, within media.Span) (stretch, error) {
	packets, err := t.around(ctx, src, within)
	times := shownTimes(packets)
	if errors.Is(err, errNone) || err == nil && len(times) == 0 {
		return stretch{}, noPictures(op, errNone)
	}
	if err != nil {
		return stretch{}, err
	}
	return stretchOf(times, within), nil
}

// checkSmooth reads the clip's own table of pictures, compares it with what was
// asked and puts the clip on the disk for good.
func (t *Tool) checkSmooth(ctx context.Context, op, dst string, part stretch) ([]media.Micros, error) {
	frames, err := readFrames(dst)
	if err != nil {
		return nil, fault.Wrap(err, fault.Internal, op, "The clip that was made cannot be read. Try again.")
	}
	if len(frames) != part.count {
		t.log.WarnContext(ctx, "clip has other pictures than its source lists", "op", op, "dst", dst, "want", part.count, "got", len(frames))
	}
	// Damaged pictures may be missing here and there; a clip without its
	// beginning or its end is of no use.
	const tolerance = media.Second / 2
	if len(frames) == 0 || frames[0] > tolerance || frames[len(frames)-1] < part.last-part.first-tolerance {
		return nil, noPictures(op, errNone)
	}
	if err := syncFile(dst); err != nil {
		return nil, fault.Wrap(err, fault.Unavailable, op, "The clip could not be stored. Free some disk space, then try again.")
	}
	return frames, nil
}

// fit returns the size of a picture scaled down to a height: both sides even,
// never larger than the original.
func fit(width, height, wanted int) (w, h int) {
	h = max(2, min(wanted, height)/2*2)
	w = max(2, 2*int(math.Round(float64(width)*float64(h)/float64(height)/2)))
	return w, h
}
