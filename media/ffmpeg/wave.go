package ffmpeg

import (
	"context"
	"encoding/binary"
	"math"

	"netreel/media"
)

// waveRate is the rate of what people listen to, samples a second.
const waveRate = 22_050

// Wave is a stretch of a file's sound as a WAVE file: RIFF, 16-bit mono PCM
// (IBM and Microsoft, "Multimedia Programming Interface and Data
// Specifications 1.0", 1991). It is held in memory: stretches are short. Errors
// are those of Sound.
func (t *Tool) Wave(ctx context.Context, path string, within media.Span) ([]byte, error) {
	const head = 44
	out := make([]byte, head)
	err := t.Sound(ctx, path, SoundSpec{Rate: waveRate, Within: within}, func(samples []float32) error {
		for _, s := range samples {
			v := int16(math.Round(float64(max(-1, min(1, s))) * math.MaxInt16))
			out = binary.LittleEndian.AppendUint16(out, uint16(v))
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	put := func(at int, tag string, size int) {
		copy(out[at:], tag)
		binary.LittleEndian.PutUint32(out[at+4:], uint32(size))
	}
	put(0, "RIFF", len(out)-8)
	copy(out[8:], "WAVE")
	put(12, "fmt ", 16)
	for i, v := range []uint16{1, 1} { // PCM, mono
		binary.LittleEndian.PutUint16(out[20+2*i:], v)
	}
	binary.LittleEndian.PutUint32(out[24:], waveRate)
	binary.LittleEndian.PutUint32(out[28:], 2*waveRate)
	binary.LittleEndian.PutUint16(out[32:], 2)
	binary.LittleEndian.PutUint16(out[34:], 16)
	put(36, "data", len(out)-head)
	return out, nil
}
