package jobs

import (
	"context"
	"slices"

	"github.com/riverqueue/river"

	"netreel/media/align"
	"netreel/tagging"
)

// align compares the sound of each two recordings of a session that other
// cameras took. Each pair is kept as it is found, so that a job that is killed
// goes on where it was.
func (w *work) align(ctx context.Context, job *river.Job[AlignSession]) error {
	session := job.Args.SessionID
	recordings, known, err := w.Store.ToAlign(ctx, session)
	if err != nil {
		return err
	}
	if job.Args.Anew {
		known = nil
	}
	var anew []align.Pair
	for i, b := range recordings {
		for _, a := range recordings[:i] {
			compared := slices.ContainsFunc(known, func(p align.Pair) bool { return p.A == int(a.ID) && p.B == int(b.ID) })
			if compared || !a.Camera.Beside(b.Camera) {
				continue
			}
			pair, err := w.compare(ctx, a, b)
			if err != nil {
				return err
			}
			if job.Args.Anew {
				anew = append(anew, pair)
			} else if err := w.Store.SaveMatches(ctx, session, []align.Pair{pair}); err != nil {
				return err
			}
		}
	}
	if job.Args.Anew {
		return w.Store.LayAnew(ctx, session, anew)
	}
	return nil
}

func (w *work) compare(ctx context.Context, a, b tagging.Recording) (align.Pair, error) {
	pathA, err := w.original(ctx, a.SHA256)
	if err != nil {
		return align.Pair{}, err
	}
	pathB, err := w.original(ctx, b.SHA256)
	if err != nil {
		return align.Pair{}, err
	}
	m, err := align.Find(ctx, w.Tool.File(pathA), w.Tool.File(pathB), align.Distances{})
	return align.Pair{A: int(a.ID), B: int(b.ID), Match: m}, err
}

// alignFailed leaves the clocks as they are guessed: a person can lay them.
func (w *work) alignFailed(context.Context, AlignSession, error, string) error { return nil }
