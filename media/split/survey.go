package split

import (
	"context"
	"sync"

	"netreel/media"
)

// survey is the first pass: the whole file's sound and, at the same time, its
// packet sizes, without decoding a picture.
func survey(ctx context.Context, f Footage, p media.Probe, work *course) (*ear, *stir, error) {
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	length := p.Duration.Seconds()
	progress := work.step(surveyShare)
	var heard *ear
	seen := stir{length: p.Duration}
	var both sync.WaitGroup
	if p.HasSound() {
		heard = newEar(length)
		both.Go(func() {
			err := f.Sound(ctx, soundRate, func(samples []float32) error {
				heard.hear(samples)
				progress(float64(heard.n) / soundRate / length)
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
				progress(at.Seconds() / length)
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
	progress(1)
	return heard, &seen, nil
}
