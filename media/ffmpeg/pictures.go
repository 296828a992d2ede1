package ffmpeg

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"netreel/media"
	"netreel/media/fault"
)

// PictureSpec says which pictures are wanted and how.
type PictureSpec struct {
	Width, Height int        // pixels; the picture is turned upright, then squeezed to this
	FPS           float64    // at most so many a second; 0: every picture
	KeyOnly       bool       // key frames only, which costs a fifth
	Rough         bool       // without smoothing the blocks' edges and on one thread: a third cheaper, for several stretches at a time
	Colour        bool       // the colour too
	Within        media.Span // on the file's own clock; zero: all
}

// Picture is one decoded picture.
type Picture struct {
	At   media.Micros // its true presentation time on the file's own clock
	Grey []byte       // Width*Height brightness values, row by row; valid only during the call
	Blue []byte       // ... and the colour's two differences, Cb and Cr by the film's own matrix over the
	Red  []byte       // whole range of a byte, 128 of black and white; nil unless asked for
}

// Pictures decodes a file's picture to small grey frames and hands them to fn
// in the order in which they are shown. No picture is made up or moved: a lower
// FPS leaves pictures out. An error from fn ends it and is returned.
func (t *Tool) Pictures(ctx context.Context, path string, s PictureSpec, fn func(Picture) error) error {
	const op = "ffmpeg.Pictures"
	if s.Width < 1 || s.Height < 1 || s.Width > 8192 || s.Height > 8192 || s.FPS < 0 {
		return fault.New(fault.Invalid, op, "The wanted picture size or rate is out of range.")
	}
	src, err := t.source(ctx, path)
	if err != nil {
		return err
	}
	times := make(chan media.Micros)
	done := make(chan struct{})
	return t.run(ctx, op, pictureArgs(path, src, s), nil, process{
		third: func(r io.Reader) error {
			defer close(times)
			return readTimes(r, func(at media.Micros) bool {
				select {
				case times <- at - src.start:
					return true
				case <-done:
					return false
				}
			})
		},
		stdout: func(r io.Reader) error {
			defer close(done)
			return readPictures(r, s, times, func(p Picture) error {
				// The seek may land early, and ffmpeg counts a length from the
				// first picture that it keeps.
				if s.Within != (media.Span{}) && !s.Within.Contains(p.At) {
					return nil
				}
				return fn(p)
			})
		},
	})
}

// readPictures pairs raw frames with their times.
func readPictures(r io.Reader, s PictureSpec, times <-chan media.Micros, fn func(Picture) error) error {
	area := s.Width * s.Height
	planes := make([]byte, area)
	p := Picture{Grey: planes}
	if s.Colour {
		planes = make([]byte, 3*area)
		p = Picture{Grey: planes[:area], Blue: planes[area : 2*area], Red: planes[2*area:]}
	}
	for {
		_, err := io.ReadFull(r, planes)
		switch {
		case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
			return nil // torn: the tool is dying, and its exit code tells
		case err != nil:
			return err
		}
		at, ok := <-times
		if !ok {
			return errors.New("a picture came without its time")
		}
		p.At = at
		if err := fn(p); err != nil {
			return err
		}
	}
}

// readTimes reads what ffmpeg's framecrc writes: header lines that begin with
// "#" and "stream, dts, pts, duration, size, checksum" for each picture, here
// in microseconds. fn returns false to end.
func readTimes(r io.Reader, fn func(media.Micros) bool) error {
	lines := bufio.NewScanner(r)
	for lines.Scan() {
		line := lines.Text()
		if tick, ok := strings.CutPrefix(line, "#tb 0: "); ok && tick != "1/1000000" {
			return fmt.Errorf("pictures are timed in units of %s s", tick)
		}
		if strings.HasPrefix(line, "#") {
			continue
		}
		fields := strings.Split(line, ",")
		if len(fields) < 5 {
			return fmt.Errorf("no picture time in %q", line)
		}
		at, err := strconv.ParseInt(strings.TrimSpace(fields[2]), 10, 64)
		if err != nil {
			return fmt.Errorf("no picture time in %q", line)
		}
		if !fn(media.Micros(at)) {
			return nil
		}
	}
	return lines.Err()
}
