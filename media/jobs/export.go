package jobs

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/riverqueue/river"

	"netreel/media"
	"netreel/media/blob"
	"netreel/media/fault"
	"netreel/media/render"
	"netreel/tagging"
	"netreel/tagging/export"
)

// A film is filmWidth x filmHeight pixels, at the rate of its fastest clip
// within these bounds.
const (
	filmWidth, filmHeight = 1280, 720
	slowestFilm           = 24.0
	fastestFilm           = 60.0
)

// cuttingShare is the part of the work that goes into clips that have no file
// yet, as the progress shows it.
const cuttingShare = 0.5

// export makes a reel into one film. The clips' files are made and kept one
// by one; the film is adopted whole and then told to the row. Killed in between,
// the next attempt makes the film anew under the same key.
func (w *work) export(ctx context.Context, job *river.Job[ExportReel]) error {
	e, p, err := w.Store.ExportForJob(ctx, job.Args.ExportID)
	if err != nil {
		return err
	}
	if e.State == tagging.ExportDone || e.State == tagging.ExportCancelled {
		return nil
	}
	tell := w.progress(ctx, func(share float64) error {
		return w.Store.SetExport(ctx, e.ID, tagging.ExportWorking, share, "", "")
	})
	tell(0)
	clips, cut, err := w.filmClips(ctx, p, tell)
	if err != nil {
		return err
	}
	film, err := w.filmJob(ctx, e, p, clips)
	if err != nil {
		return err
	}
	begun := 0.0
	if cut {
		begun = cuttingShare
	}
	var cues []render.Cue
	err = w.publish(ctx, blob.ExportKey(e.ID), func(path string) (err error) {
		film.Dst = path
		cues, err = render.Reel(ctx, w.Tool, film, func(share float64) { tell(begun + (1-begun)*share) })
		return err
	})
	if err != nil {
		return err
	}
	captions, err := filmCaptions(p.Reel.Title, cues)
	if err != nil {
		return err
	}
	return w.Store.SetExport(ctx, e.ID, tagging.ExportDone, 1, "", captions)
}

func (w *work) exportFailed(ctx context.Context, a ExportReel, _ error, problem string) error {
	return w.Store.SetExport(ctx, a.ExportID, tagging.ExportFailed, 0, problem, "")
}

// filmClip is a ball of the film with the clip that is shown of it.
type filmClip struct {
	item tagging.PlaylistItem
	clip tagging.Clip
}

// filmClips are the clips of a film, each with a file: what has none yet is
// made now. It says whether any was. A ball that no recording covers is left
// out.
func (w *work) filmClips(ctx context.Context, p tagging.Playlist, tell func(float64)) (clips []filmClip, cut bool, err error) {
	for i, item := range p.Items {
		c, ok := export.Shown(item.Ball)
		if !ok {
			continue
		}
		if _, f := c.Best(); f == nil {
			cut = true
			if c, err = w.clipWithFile(ctx, c.ID); err != nil {
				return nil, cut, err
			}
			tell(cuttingShare * float64(i+1) / float64(len(p.Items)))
		}
		clips = append(clips, filmClip{item, c})
	}
	if len(clips) == 0 {
		return nil, cut, fault.New(fault.Invalid, "jobs.export", "There is nothing in this reel to make a film of. Add balls to it and try again.")
	}
	return clips, cut, nil
}

// clipWithFile makes a clip's smooth file and returns the clip with it.
func (w *work) clipWithFile(ctx context.Context, id int64) (tagging.Clip, error) {
	for range rounds {
		tasks, err := w.Store.ClipsForJob(ctx, []int64{id})
		if err != nil {
			return tagging.Clip{}, err
		}
		if len(tasks) == 0 {
			break
		}
		if _, f := tasks[0].Clip.Best(); f != nil {
			return tasks[0].Clip, nil
		}
		if _, err := w.makeSmooth(ctx, tasks[0], nil); err != nil {
			return tagging.Clip{}, err
		}
	}
	return tagging.Clip{}, fault.New(fault.Conflict, "jobs.export", "A ball of this reel was changed while its film was made. Try again.")
}

// filmJob says what the film is made of.
func (w *work) filmJob(ctx context.Context, e tagging.Export, p tagging.Playlist, clips []filmClip) (render.Job, error) {
	film := render.Job{
		Card: render.Card{Title: p.Reel.Title, Lines: cardLines(p, len(clips))},
		Burn: e.Burn, Width: filmWidth, Height: filmHeight, FPS: slowestFilm,
	}
	for _, c := range clips {
		which, f := c.clip.Best()
		src, err := w.Blobs.Path(ctx, blob.ClipKey(c.clip.ID, c.clip.Revision, which))
		if err != nil {
			return film, err
		}
		film.FPS = max(film.FPS, min(frameRate(f.Frames), fastestFilm))
		film.Pieces = append(film.Pieces, piece(c, f, src))
	}
	return film, nil
}

// piece is a clip's stretch on its file's clock, with what was seen on it.
func piece(c filmClip, f *tagging.ClipFile, src string) render.Piece {
	p := render.Piece{Src: src, From: max(f.Lead, 0), To: f.Lead + c.clip.Span.Length(),
		Title: cmp.Or(c.item.Title, ballTitle(c.item)), Note: c.item.Note}
	for _, cue := range export.BallCues(c.item.Ball, c.clip) {
		p.Captions = append(p.Captions, render.Caption{Text: cue.Text, Aside: cue.Measured,
			Span: media.Span{Start: f.Lead + cue.Span.Start, End: f.Lead + cue.Span.End}})
	}
	return p
}

// ballTitle names a ball that the coach gave no title.
func ballTitle(i tagging.PlaylistItem) string {
	title := fmt.Sprintf("Ball %d", i.Ball.Number)
	if i.Player != "" {
		title += ", " + i.Player
	}
	return title
}

// cardLines is what stands under the title: the reel's note, whose it is, and
// how many balls follow.
func cardLines(p tagging.Playlist, balls int) []string {
	count := fmt.Sprintf("%d balls", balls)
	if balls == 1 {
		count = "1 ball"
	}
	lines := []string{p.Squad, count}
	if note := strings.TrimSpace(p.Reel.Note); note != "" {
		lines = append([]string{note}, lines...)
	}
	return lines
}

// frameRate is a clip's rate in frames a second by the middle one of its frame
// distances; 0 for fewer than two frames.
func frameRate(frames []media.Micros) float64 {
	if len(frames) < 2 {
		return 0
	}
	gaps := make([]media.Micros, 0, len(frames)-1)
	for i := 1; i < len(frames); i++ {
		gaps = append(gaps, frames[i]-frames[i-1])
	}
	slices.Sort(gaps)
	if middle := gaps[len(gaps)/2]; middle > 0 {
		return math.Round(1e6 / float64(middle))
	}
	return 0
}

// filmCaptions is the film's track, on the film's clock.
func filmCaptions(title string, cues []render.Cue) (string, error) {
	track := make([]export.Cue, len(cues))
	for i, c := range cues {
		track[i] = export.Cue{Span: c.Span, Text: c.Text}
	}
	var b strings.Builder
	err := export.WebVTT(&b, title, track)
	return b.String(), err
}
