package split

import (
	"math"
	"slices"

	"netreel/media"
)

// traceStep is the time between two samples of the lane's curves.
const traceStep = media.Second / 20

const (
	envelopeBottom = -90.0 // dB kept as byte 0 while listening
	traceLeast     = 15    // a curve that spans fewer steps than this is flat
)

// envelope keeps the greatest level of each 50 ms in one byte.
type envelope struct{ values []byte }

func newEnvelope(duration float64) *envelope {
	return &envelope{make([]byte, 0, int(duration/traceStep.Seconds())+1)}
}

func (e *envelope) add(at float64, f frame) {
	level := max(f.high(), float64(f[bandThud])-10)
	v := byte(min(max((level-envelopeBottom)*255/-envelopeBottom, 0), 255))
	i := int(at / traceStep.Seconds())
	for len(e.values) <= i {
		e.values = append(e.values, 0)
	}
	e.values[i] = max(e.values[i], v)
}

// stretch spreads values over 0..255 between their own 10 % quantile and their
// maximum, so that a far and a near microphone draw the same lane. Values
// that hardly differ (silence) become 0.
func stretch(values []byte, least byte) []byte {
	if len(values) == 0 {
		return values
	}
	sorted := slices.Clone(values)
	slices.Sort(sorted)
	low, top := sorted[len(sorted)/10], sorted[len(sorted)-1]
	if top-low < least {
		low = top
	}
	out := make([]byte, len(values))
	for i, v := range values {
		if v > low {
			out[i] = byte(math.Round(float64(v-low) * 255 / float64(top-low)))
		}
	}
	return out
}

// bytes lays a curve in units of its own spread, -3 to 6, out over 0..255.
func (c curve) bytes() []byte {
	out := make([]byte, len(c))
	for i, v := range c {
		out[i] = byte(min(max((v+3)*255/9, 0), 255))
	}
	return out
}
