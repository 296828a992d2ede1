package split

import (
	"cmp"
	"context"
	"slices"

	"netreel/media"
	"netreel/media/fault"
)

// Bang is a sudden, sharp sound: a clap, a bat, a door.
type Bang struct {
	At    media.Micros // when it begins, from the first sample on
	Above float64      // dB of its loudest band over what is usual there
}

// sharp is the least jump, in dB above the 20 ms before, of a sound that is
// called a bang: judgement, no source.
const sharp = 12

// Bangs hears the sharpest sounds of a stretch, most at most, in the order of
// time. It says nothing of what made them. Errors are those of sound, which is
// called as Footage's Sound is.
func Bangs(ctx context.Context, sound func(ctx context.Context, rate int, fn func([]float32) error) error, seconds float64, most int) ([]Bang, error) {
	heard := newEar(seconds)
	err := sound(ctx, soundRate, func(samples []float32) error {
		heard.hear(samples)
		return ctx.Err()
	})
	if err != nil {
		return nil, fault.At("split.Bangs", err)
	}
	heard.end()
	var found []Bang
	for _, o := range heard.onsets {
		if o.lift.high() >= sharp {
			found = append(found, Bang{media.FromSeconds(o.at), o.snr.high()})
		}
	}
	slices.SortStableFunc(found, func(a, b Bang) int { return cmp.Compare(b.Above, a.Above) })
	found = found[:min(len(found), most)]
	slices.SortFunc(found, func(a, b Bang) int { return cmp.Compare(a.At, b.At) })
	return found, nil
}
