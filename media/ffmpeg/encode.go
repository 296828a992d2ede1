package ffmpeg

import (
	"context"
	"io"
	"os"

	"netreel/media"
	"netreel/media/fault"
)

// Raw says how pictures made here become a film.
type Raw struct {
	Width, Height int     // pixels, both even
	FPS           float64 // pictures a second
	Sound         string  // path of a WAV file, or ""
	Dst           string  // path of the MP4 to write
	Preset        string  // x264's speed, "veryfast" when empty
}

// EncodeRaw makes an MP4 (H.264, and AAC when there is sound) of pictures that
// the function writes: planar yuv420p, Width*Height*3/2 bytes each, nothing
// between them. The film is written to Dst, which is removed on failure. An
// error from pictures ends it and is returned.
func (t *Tool) EncodeRaw(ctx context.Context, r Raw, pictures func(w io.Writer) error) error {
	const op = "ffmpeg.EncodeRaw"
	if r.Width < 2 || r.Height < 2 || r.Width%2 != 0 || r.Height%2 != 0 || !(r.FPS > 0 && r.FPS <= 1000) {
		return fault.New(fault.Invalid, op, "Width and height must be even and the frame rate must lie between 0 and 1,000.")
	}
	if r.Preset == "" {
		r.Preset = "veryfast"
	}
	count := &counter{}
	err := t.run(ctx, op, encodeArgs(r), nil, process{stdin: func(w io.Writer) error {
		count.w = w
		return pictures(count)
	}})
	if err != nil {
		return discard(err, r.Dst)
	}
	whole := count.n / int64(r.Width*r.Height*3/2)
	want := media.FromSeconds(float64(whole) / r.FPS)
	return t.finish(ctx, op, r.Dst, want, media.FromSeconds(2/r.FPS))
}

// counter counts what is written through it.
type counter struct {
	w io.Writer
	n int64
}

func (c *counter) Write(p []byte) (int, error) {
	n, err := c.w.Write(p)
	c.n += int64(n)
	return n, err
}

// finish checks that a film that was written is as long as it should be and
// puts it on the disk for good. On failure the file is removed.
func (t *Tool) finish(ctx context.Context, op, dst string, want, tolerance media.Micros) error {
	p, err := t.Probe(ctx, dst)
	if err != nil {
		return discard(fault.Wrap(err, fault.Internal, op, "The film that was made cannot be read. Try again."), dst)
	}
	if off := p.Duration - want; off > tolerance || off < -tolerance {
		t.log.ErrorContext(ctx, "film has the wrong length", "op", op, "dst", dst, "want_us", want, "got_us", p.Duration)
		return discard(fault.New(fault.Internal, op, "The film that was made has the wrong length. Try again."), dst)
	}
	if err := syncFile(dst); err != nil {
		return discard(fault.Wrap(err, fault.Unavailable, op, "The film could not be stored. Free some disk space, then try again."), dst)
	}
	return nil
}

// discard removes files that must not be used and returns the reason.
func discard(reason error, paths ...string) error {
	for _, p := range paths {
		_ = os.Remove(p) // it may not be there, and the reason matters more
	}
	return reason
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		_ = f.Close()
		return err
	}
	return f.Close()
}
