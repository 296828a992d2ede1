package split

import (
	"context"

	"netreel/media"
)

// The shares of the work, for progress.
const (
	soundShare   = 0.5
	packetsShare = 0.2
)

// survey is the first pass: the whole file's sound and packet sizes, read
// once, without decoding a picture.
func survey(ctx context.Context, f Footage, p media.Probe, progress func(float64)) (*ear, *stir, error) {
	var heard *ear
	length := p.Duration.Seconds()
	if p.HasSound() {
		heard = newEar(length)
		err := f.Sound(ctx, soundRate, func(samples []float32) error {
			heard.hear(samples)
			progress(soundShare * min(float64(heard.n)/soundRate/length, 1))
			return nil
		})
		if err != nil {
			return nil, nil, err
		}
		heard.end()
	}
	progress(soundShare)
	var seen stir
	err := f.Packets(ctx, func(at media.Micros, size int, key bool) error {
		seen.add(at, size, key)
		if seen.packets%256 == 0 {
			progress(soundShare + packetsShare*min(max(at.Seconds()/length, 0), 1))
		}
		return nil
	})
	if err != nil {
		return nil, nil, err
	}
	progress(soundShare + packetsShare)
	return heard, &seen, nil
}
