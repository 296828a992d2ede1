package jobs

import (
	"context"
	"time"

	"netreel/media/fault"
	"netreel/media/ffmpeg"
	"netreel/media/split"
	"netreel/tagging"
)

// Hearing may take hearingTime; earsAtOnce are heard beside each other, and
// bangsMost are told of.
const (
	hearingTime = 30 * time.Second
	earsAtOnce  = 2
	bangsMost   = 8
)

// Ears hear stretches of recordings when they are asked to. They keep nothing
// and are safe for use by several goroutines.
type Ears struct {
	deps  Deps
	turns chan struct{}
}

// NewEars makes ears.
func NewEars(d Deps) *Ears {
	return &Ears{deps: d, turns: make(chan struct{}, earsAtOnce)}
}

// Bangs are the sharpest sounds of a stretch, in the order of time. It returns
// fault.Unsupported for a recording without sound and fault.Unavailable when it
// took too long.
func (e *Ears) Bangs(ctx context.Context, h tagging.Hearing) ([]tagging.Bang, error) {
	var bangs []tagging.Bang
	err := e.hear(ctx, "jobs.Bangs", h, func(ctx context.Context, f ffmpeg.File) error {
		sound := func(ctx context.Context, rate int, fn func([]float32) error) error {
			return f.SoundWithin(ctx, h.Within, rate, fn)
		}
		found, err := split.Bangs(ctx, sound, h.Within.Length().Seconds(), bangsMost)
		for _, b := range found {
			own := h.Within.Start + b.At
			bangs = append(bangs, tagging.Bang{RecordingID: h.Recording.ID, At: h.Recording.Clock.ToSession(own), Own: own, Above: b.Above})
		}
		return err
	})
	tagging.MarkClear(bangs)
	return bangs, err
}

// Wave is a stretch as a WAVE file, to be heard. Errors are as those of Bangs.
func (e *Ears) Wave(ctx context.Context, h tagging.Hearing) (wave []byte, err error) {
	err = e.hear(ctx, "jobs.Wave", h, func(ctx context.Context, f ffmpeg.File) (err error) {
		wave, err = f.Wave(ctx, h.Within)
		return err
	})
	return wave, err
}

func (e *Ears) hear(ctx context.Context, op string, h tagging.Hearing, use func(context.Context, ffmpeg.File) error) error {
	ctx, cancel := context.WithTimeout(ctx, hearingTime)
	defer cancel()
	select {
	case e.turns <- struct{}{}:
		defer func() { <-e.turns }()
	case <-ctx.Done():
		return fault.Wrap(context.Cause(ctx), fault.Unavailable, op, "Too much is being listened to at once. Try again in a moment.")
	}
	src, err := e.deps.original(ctx, h.Recording.SHA256)
	if err != nil {
		return err
	}
	return use(ctx, e.deps.Tool.File(src))
}
