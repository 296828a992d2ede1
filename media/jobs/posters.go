package jobs

import (
	"context"
	"strconv"
	"time"

	"golang.org/x/sync/singleflight"

	"netreel/media"
	"netreel/media/blob"
	"netreel/media/fault"
)

// A poster is posterWidth pixels wide at most. posterTime is how long the
// making of one may take, postersAtOnce how many are made beside each other.
const (
	posterWidth   = 640
	posterTime    = 30 * time.Second
	postersAtOnce = 2
)

// Posters makes posters when they are first asked for. It is safe for use by
// several goroutines. Killed between the file and the row, it finds the file
// the next time and tells the row.
type Posters struct {
	deps   Deps
	flight singleflight.Group
	turns  chan struct{}
}

// NewPosters makes a poster maker.
func NewPosters(d Deps) *Posters {
	return &Posters{deps: d, turns: make(chan struct{}, postersAtOnce)}
}

// Poster returns the blob key of a clip's poster and makes it if it is not
// there. Those who ask for the same one at the same time wait for one run; one
// who goes away does not end it for the others. It returns fault.NotFound when
// the clip has gone and fault.Unavailable when it took too long.
func (p *Posters) Poster(ctx context.Context, clipID int64) (string, error) {
	result := p.flight.DoChan(strconv.FormatInt(clipID, 10), func() (any, error) {
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), posterTime)
		defer cancel()
		return p.make(ctx, clipID)
	})
	select {
	case r := <-result:
		if r.Err != nil {
			return "", r.Err
		}
		return r.Val.(string), nil
	case <-ctx.Done():
		return "", context.Cause(ctx)
	}
}

func (p *Posters) make(ctx context.Context, clipID int64) (string, error) {
	const op = "jobs.Poster"
	select {
	case p.turns <- struct{}{}:
		defer func() { <-p.turns }()
	case <-ctx.Done():
		return "", fault.Wrap(context.Cause(ctx), fault.Unavailable, op, "Too many pictures are being made at once. Try again in a moment.")
	}
	d := p.deps
	tasks, err := d.Store.ClipsForJob(ctx, []int64{clipID})
	if err != nil {
		return "", err
	}
	if len(tasks) == 0 {
		return "", fault.New(fault.NotFound, op, "There is no such clip any more.")
	}
	t := tasks[0]
	key := blob.PosterKey(clipID, t.Clip.Revision)
	if _, err := d.Blobs.Stat(ctx, key); err == nil {
		return key, d.Store.SavePoster(ctx, clipID, t.Clip.Revision) // made before, but the row was not told
	}
	src, at, err := d.posterSource(ctx, t)
	if err != nil {
		return "", err
	}
	if err := d.publish(ctx, key, func(path string) error { return d.Tool.Poster(ctx, src, at, posterWidth, path) }); err != nil {
		return "", err
	}
	return key, d.Store.SavePoster(ctx, clipID, t.Clip.Revision)
}

// posterSource is the file that a poster is taken from and the time on its
// clock: the clip's own, which is quick to open, else the original.
func (d Deps) posterSource(ctx context.Context, t ClipTask) (path string, at media.Micros, err error) {
	if which, f := t.Clip.Best(); f != nil {
		path, err := d.Blobs.Path(ctx, blob.ClipKey(t.Clip.ID, t.Clip.Revision, which))
		if err == nil {
			return path, t.Poster - t.Clip.Span.Start + f.Lead, nil
		}
		if fault.KindOf(err) != fault.NotFound {
			return "", 0, err
		}
	}
	path, err = d.original(ctx, t.SHA256)
	return path, t.Poster, err
}
