// Package render makes a reel into one film: a title card, then ball after
// ball, with the coach's words burned in or as a subtitle track.
//
// It works piece by piece in a folder of its own beside the film, so that its
// memory does not grow with the reel, and writes the film itself at the very
// end. It must not know who asks, where the words come from, or how a film is
// encoded.
package render

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"netreel/media"
	"netreel/media/fault"
)

// Maker is what a reel needs of a video tool; *ffmpeg.Tool is one.
type Maker interface {
	Probe(ctx context.Context, path string) (media.Probe, error)
	// Compose makes one strip, which has sound whether or not its clip has.
	Compose(ctx context.Context, s media.Strip, dst string, onProgress func(float64)) error
	// Join joins strips of the given lengths and may add a WebVTT file as a
	// subtitle track ("" for none).
	Join(ctx context.Context, strips []string, lengths []media.Micros, subtitles, dst string, onProgress func(float64)) error
}

// Card is the title card that opens a film. A card without any text is left out.
type Card struct {
	Title string
	Lines []string
}

// CardLength is how long the title card stands.
const CardLength = 3 * media.Second

// Caption is something said at a time.
type Caption struct {
	Span  media.Span // on the clip's own clock
	Text  string
	Aside bool // burned into the top right corner, where figures hide nothing of the batter; otherwise at the bottom
}

// Piece is one ball of a film.
type Piece struct {
	Src      string       // path of its clip
	From, To media.Micros // what of it is shown, on the clip's own clock
	Title    string       // shown throughout
	Note     string       // shown throughout, below the title
	Captions []Caption    // shown at their times; outside From to To they are left out
}

// Job is a film to be made.
type Job struct {
	Card          Card
	Pieces        []Piece
	Burn          bool    // words are drawn into the picture; otherwise they are a subtitle track
	Width, Height int     // pixels; 0: 1280 by 720
	FPS           float64 // pictures a second; 0: 50
	Dst           string  // staging path of the MP4; pieces are kept beside it meanwhile
}

// Cue is a text on the film's clock. Cues are in order and do not overlap.
type Cue struct {
	Span media.Span
	Text string // lines joined by "\n"
}

// Reel makes the film and returns its words on the film's clock, for a WebVTT
// file, whether or not they are burned in. progress may be nil.
//
// On failure no file is left. It returns fault.Invalid, with a field
// "pieces[n]", for a piece that shows nothing of its clip, and fault.NotFound
// for a clip that is missing.
func Reel(ctx context.Context, t Maker, j Job, progress func(float64)) ([]Cue, error) {
	const op = "render.Reel"
	j = j.withDefaults()
	if len(j.Pieces) == 0 {
		return nil, fault.New(fault.Invalid, op, "This reel has no balls yet. Add some, then export it.")
	}
	look, err := newLook(j.Width, j.Height)
	if err != nil {
		return nil, err
	}
	dir, err := os.MkdirTemp(filepath.Dir(j.Dst), "reel-")
	if err != nil {
		return nil, fault.Wrap(err, fault.Unavailable, op, "The film could not be begun. Free some disk space, then try again.")
	}
	defer func() { _ = os.RemoveAll(dir) }() // what stays is swept with other staged files
	r := reel{Job: j, tool: t, look: look, dir: dir, progress: progress}
	if err := r.plan(ctx); err != nil {
		return nil, err
	}
	if err := r.compose(ctx); err != nil {
		return nil, err
	}
	if err := r.join(ctx); err != nil {
		return nil, err
	}
	return r.cues, nil
}

func (j Job) withDefaults() Job {
	if j.Width == 0 || j.Height == 0 {
		j.Width, j.Height = 1280, 720
	}
	if j.FPS == 0 {
		j.FPS = 50
	}
	return j
}

// reel is a film in the making.
type reel struct {
	Job
	tool     Maker
	look     *look
	dir      string
	progress func(float64)

	strips  []planned
	lengths []media.Micros
	cues    []Cue
	whole   media.Micros // of the film
	done    media.Micros // of it that is composed
}

// planned is a strip and the words on it.
type planned struct {
	media.Strip
	card        *Card
	title, note string
	captions    []Cue // on the strip's clock
	asides      []Cue // likewise
}

// plan checks every piece and lays out the film's clock, before any work is done.
func (r *reel) plan(ctx context.Context) error {
	blank := media.Strip{Width: r.Width, Height: r.Height, FPS: r.FPS}
	if r.Card.Title != "" || len(r.Card.Lines) > 0 {
		card := blank
		card.Span.End = CardLength
		r.add(planned{Strip: card, card: &r.Card})
	}
	for i, p := range r.Pieces {
		probe, err := r.tool.Probe(ctx, p.Src)
		if err != nil {
			return pieceFault(i, err)
		}
		shown := media.Span{Start: max(0, p.From), End: min(p.To, probe.VideoStart+probe.Duration)}
		if shown.Length() <= 0 {
			return fault.New(fault.Invalid, "render.Reel",
				fmt.Sprintf("Ball %d of the reel shows nothing of its clip. Set its edges again or take it out of the reel.", i+1),
				fault.Field{Name: fmt.Sprintf("pieces[%d]", i), Reason: "shows nothing of its clip"})
		}
		s := blank
		s.Src, s.Span = p.Src, shown
		below, aside := parted(p.Captions)
		r.add(planned{Strip: s, title: clean(p.Title), note: clean(p.Note), captions: flatten(below, shown), asides: flatten(aside, shown)})
	}
	return nil
}

// parted parts captions by where they stand.
func parted(captions []Caption) (below, aside []Caption) {
	for _, c := range captions {
		if c.Aside {
			aside = append(aside, c)
		} else {
			below = append(below, c)
		}
	}
	return below, aside
}

// pieceFault says which ball could not be used.
func pieceFault(i int, err error) error {
	msg := fault.Message(err)
	if fault.KindOf(err) == fault.NotFound {
		msg = "Its clip is missing. Wait until the clip is made, or take the ball out of the reel."
	}
	return fault.Wrap(err, fault.KindOf(err), "render.Reel", fmt.Sprintf("Ball %d of the reel cannot be shown. %s", i+1, msg))
}

// add puts a strip at the film's end and its words on the film's clock.
func (r *reel) add(p planned) {
	length := p.Length()
	r.cues = append(r.cues, onFilm(p, r.whole, length)...)
	r.strips, r.lengths = append(r.strips, p), append(r.lengths, length)
	r.whole += length
}

// Composing takes nearly all of the time.
const composeShare = 0.95

func (r *reel) compose(ctx context.Context) error {
	for i := range r.strips {
		s, err := r.letter(i)
		if err != nil {
			return err
		}
		err = r.tool.Compose(ctx, s, r.stripPath(i), func(p float64) {
			r.report(composeShare * (r.done.Seconds() + p*r.lengths[i].Seconds()) / r.whole.Seconds())
		})
		if err != nil {
			return fault.At("render.Reel", err)
		}
		r.done += r.lengths[i]
	}
	return nil
}

func (r *reel) stripPath(i int) string { return filepath.Join(r.dir, fmt.Sprintf("%04d.mov", i)) }

func (r *reel) join(ctx context.Context) error {
	paths := make([]string, len(r.strips))
	for i := range paths {
		paths[i] = r.stripPath(i)
	}
	subtitles := ""
	if !r.Burn && len(r.cues) > 0 {
		subtitles = filepath.Join(r.dir, "words.vtt")
		if err := os.WriteFile(subtitles, webVTT(r.cues), 0o600); err != nil {
			return fault.Wrap(err, fault.Unavailable, "render.Reel", "The film's words could not be stored. Free some disk space, then try again.")
		}
	}
	err := r.tool.Join(ctx, paths, r.lengths, subtitles, r.Dst, func(p float64) {
		r.report(composeShare + (1-composeShare)*p)
	})
	return fault.At("render.Reel", err)
}

func (r *reel) report(share float64) {
	if r.progress != nil {
		r.progress(share)
	}
}
