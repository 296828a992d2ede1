// Package split finds the balls of a net session in its footage.
//
// It works from evidence to decision. Sound and the sizes of the container's
// packets are read once and cheaply and propose moments; pictures are decoded
// small and only around moments that are still in doubt; then one decision is
// taken over the whole session together, with levels, sound colour and tempo
// learnt from the session itself. Memory grows with the number of moments
// worth a look, not with the length of the footage.
//
// It must not know ffmpeg, files or the database: it hears samples and sees
// small pictures through Footage, and all its times are on the file's own clock.
package split

import (
	"context"

	"netreel/media"
	"netreel/media/fault"
)

// Footage is one file, as the split looks at it. Each method streams: fn is
// called in order, from one goroutine, and what it is given is valid only
// during the call. An error from fn ends the reading and is returned. Several
// methods may run at the same time.
type Footage interface {
	// Sound decodes the file's sound to mono at rate samples a second; the
	// first sample lies at the file's time zero.
	Sound(ctx context.Context, rate int, fn func([]float32) error) error
	// Packets reads the sizes in bytes of the picture's packets from the
	// container without decoding, in file order.
	Packets(ctx context.Context, fn func(at media.Micros, size int, key bool) error) error
	// Pictures decodes the pictures within a span, scaled to width x height, at
	// most fps a second: one byte a pixel of luma and of the colour differences
	// Cb and Cr, 128 of black and white. The latter are nil where the source
	// gives no colour.
	Pictures(ctx context.Context, within media.Span, width, height int, fps float64,
		fn func(at media.Micros, grey, blue, red []byte) error) error
}

// minDuration is the shortest footage that can hold a ball.
const minDuration = media.Second

// Watch is told how a split gets on. Each of its functions may be nil.
type Watch struct {
	// Progress is called with values rising from 0 to 1.
	Progress func(share float64)
	// Heard is called at most once, as soon as the sound has been read: with
	// what it and the sizes of the packets tell, before any picture is decoded.
	// That takes little longer than to decode the sound, however long the
	// footage. It is not called where there is too little to hear. An error from
	// it ends the split and is returned.
	Heard func(Result) error
}

// Find finds the deliveries of one file. p is what is known of the file; only
// its duration, frame rate, size and whether it has sound are used.
//
// Footage without sound, or whose sound is silent, is split by motion; footage
// whose picture tells nothing is split by sound. Errors are those of f.
func Find(ctx context.Context, f Footage, p media.Probe, w Watch) (Result, error) {
	return Refine(ctx, f, p, Hints{}, w)
}

// Refine is Find with what is known beforehand: what people have said about
// this file's balls, and what an earlier session from the same camera position
// has taught. Each labels the session it is learnt from, so a few said balls
// change how all others are judged. With empty hints it is Find.
func Refine(ctx context.Context, f Footage, p media.Probe, h Hints, w Watch) (Result, error) {
	const op = "split.Find"
	work := &course{tell: w.Progress}
	if p.Duration < minDuration {
		return Result{Cut: usualCut, Notes: []string{"The footage is shorter than one second: there is no room for a ball."}}, nil
	}
	heard, seen, err := survey(ctx, f, p, work)
	if err != nil {
		return Result{}, fault.At(op, err)
	}
	s := newSession(p, heard, seen)
	s.hear(h)
	s.learn()
	if w.Heard != nil && s.audible() {
		if err := w.Heard(s.asHeard()); err != nil {
			return Result{}, fault.At(op, err)
		}
	}
	if err := s.look(ctx, f, work); err != nil {
		return Result{}, fault.At(op, err)
	}
	if s, err = s.reread(ctx, f, work); err != nil {
		return Result{}, fault.At(op, err)
	}
	s.doubtUntold()
	res := s.result()
	work.end()
	return res, nil
}
