package split

import (
	"context"
	"sync"

	"netreel/media"
)

// The shares of the work, for progress.
const surveyShare = 0.7

// survey is the first pass: the whole file's sound and, at the same time, its
// packet sizes, without decoding a picture.
func survey(ctx context.Context, f Footage, p media.Probe, progress func(float64)) (*ear, *stir, error) {
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	length := p.Duration.Seconds()
	var heard *ear
	seen := stir{length: p.Duration}
	var both sync.WaitGroup
	if p.HasSound() {
		heard = newEar(length)
		both.Go(func() {
			err := f.Sound(ctx, soundRate, func(samples []float32) error {
				heard.hear(samples)
				progress(surveyShare * min(float64(heard.n)/soundRate/length, 1))
				return nil
			})
			if err != nil {
				stop(err)
			}
			heard.end()
		})
	}
	both.Go(func() {
		err := f.Packets(ctx, func(at media.Micros, size int, key bool) error {
			seen.add(at, size, key)
			if heard == nil && seen.packets%256 == 0 {
				progress(surveyShare * min(max(at.Seconds()/length, 0), 1))
			}
			return nil
		})
		if err != nil {
			stop(err)
		}
	})
	both.Wait()
	if err := context.Cause(ctx); err != nil {
		return nil, nil, err
	}
	progress(surveyShare)
	return heard, &seen, nil
}
