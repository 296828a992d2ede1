package jobs

import (
	"context"
	"io"
	"os"

	"netreel/media"
	"netreel/media/fault"
	"netreel/tagging"
)

// Still is the picture of a recording at a time of its own clock, a JPEG as
// large as the film: what points are marked on. It is made anew each time and
// not kept. The caller closes it. It returns fault.Unavailable when it took
// too long.
func (p *Posters) Still(ctx context.Context, r tagging.Recording, at media.Micros) (io.ReadSeekCloser, error) {
	const op = "jobs.Still"
	if r.Probe == nil {
		return nil, fault.New(fault.Invalid, op, "This recording has not been looked at yet. Try again when it is split.")
	}
	ctx, cancel := context.WithTimeout(ctx, posterTime)
	defer cancel()
	select {
	case p.turns <- struct{}{}:
		defer func() { <-p.turns }()
	case <-ctx.Done():
		return nil, fault.Wrap(context.Cause(ctx), fault.Unavailable, op, "Too many pictures are being made at once. Try again in a moment.")
	}
	src, err := p.deps.original(ctx, r.SHA256)
	if err != nil {
		return nil, err
	}
	path, err := p.deps.Blobs.Stage("still.jpg")
	if err != nil {
		return nil, err
	}
	defer func() { _ = os.Remove(path) }() // the open file outlives its name
	if err := p.deps.Tool.Poster(ctx, src, at, r.Probe.Width, path); err != nil {
		return nil, err
	}
	file, err := os.Open(path)
	return file, fault.Wrap(err, fault.Unavailable, op, "The still could not be opened. Try again.")
}
