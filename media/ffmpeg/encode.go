package ffmpeg

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
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

// Rough is a Raw film with the ways of a phone, for measuring what has to cope
// with them.
type Rough struct {
	Raw
	Turned  bool    // a player must turn it by a quarter, clockwise
	Drop    float64 // share of pictures left out at random: a variable frame rate
	Bitrate int     // bits a second that the encoder holds; 0: it holds the quality
}

// EncodeRaw makes an MP4 (H.264, and AAC when there is sound) of pictures that
// the function writes: planar yuv420p, Width*Height*3/2 bytes each, nothing
// between them. The film is written to Dst, which is removed on failure. An
// error from pictures ends it and is returned.
func (t *Tool) EncodeRaw(ctx context.Context, r Raw, pictures func(w io.Writer) error) error {
	return t.EncodeRough(ctx, Rough{Raw: r}, pictures)
}

// EncodeRough is EncodeRaw for a film with a phone's ways.
func (t *Tool) EncodeRough(ctx context.Context, r Rough, pictures func(w io.Writer) error) error {
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
	if err == nil && r.Turned {
		err = turn(r.Dst)
	}
	if err != nil {
		return discard(err, r.Dst)
	}
	whole := count.n / int64(r.Width*r.Height*3/2)
	want := media.FromSeconds(float64(whole) / r.FPS)
	slack := 2.0 // pictures
	if r.Drop > 0 {
		slack = 50 // the last ones may be among those left out
	}
	return t.finish(ctx, op, r.Dst, want, media.FromSeconds(slack/r.FPS))
}

// turn writes a quarter turn into an MP4's first track header (ISO/IEC 14496-12,
// 8.3.2: a matrix of 16.16 and 2.30 fixed-point numbers): not every release of
// ffmpeg can be asked to.
func turn(path string) (err error) {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	head := make([]byte, 1<<16)
	n, err := io.ReadFull(f, head)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) {
		return err
	}
	const toMatrix = 44 // from the box's name, in its version 0
	at := bytes.Index(head[:n], []byte("tkhd"))
	if at < 0 || at+toMatrix+36 > n || head[at+4] != 0 {
		return errors.New("no track header where it should be")
	}
	var matrix []byte
	for _, v := range []uint32{0, 1 << 16, 0, 0xffff0000, 0, 0, 0, 0, 1 << 30} {
		matrix = binary.BigEndian.AppendUint32(matrix, v)
	}
	_, err = f.WriteAt(matrix, int64(at+toMatrix))
	return err
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
