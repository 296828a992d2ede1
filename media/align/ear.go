package align

import (
	"context"
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

const (
	rate   = 8000 // samples a second: a dull microphone hears nothing above 4 kHz anyway
	hop    = 64   // samples from frame to frame: 8 ms
	window = 128  // samples a frame looks at
	fps    = rate / hop
)

// bands are the frames' bands, in bins of rate/window = 62.5 Hz.
var bands = [...][2]int{{3, 7}, {7, 14}, {14, 27}, {27, 60}}

// heard is a recording as rises of loudness, each band scaled by what is usual
// around it, so that microphones, levels and filters don't matter.
type heard struct {
	rises [len(bands)][]float32
	loud  int // frames that are not digital silence
}

func (h heard) frames() int      { return len(h.rises[0]) }
func (h heard) seconds() float64 { return float64(h.frames()) / fps }

// silent says whether there is next to nothing to hear.
func (h heard) silent() bool { return float64(h.loud)/fps < 1 }

// floor is the power below which sound counts as silence: about -80 dB of full
// scale, under the noise of any microphone that is switched on.
const floor = 1e-8

// listen reads a recording's sound once.
func listen(ctx context.Context, s Sound) (heard, error) {
	e := newEar()
	err := s.Sound(ctx, rate, func(piece []float32) error {
		e.hear(piece)
		return ctx.Err()
	})
	if err != nil {
		return heard{}, err
	}
	for b := range e.heard.rises {
		scale(e.heard.rises[b])
	}
	return e.heard, nil
}

// ear turns samples into frames.
type ear struct {
	heard  heard
	fft    *fourier.FFT
	taper  [window]float64
	buffer []float32 // samples that no frame has been made of yet, up to a window
	frame  []float64
	bins   []complex128
	past   [3][window / 2]float64 // levels in dB of the last frames, by bin
	count  int
}

func newEar() *ear {
	e := &ear{fft: fourier.NewFFT(window), frame: make([]float64, window), bins: make([]complex128, window/2+1)}
	for i := range e.taper {
		e.taper[i] = 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/window)
	}
	return e
}

func (e *ear) hear(piece []float32) {
	e.buffer = append(e.buffer, piece...)
	at := 0
	for ; at+window <= len(e.buffer); at += hop {
		e.see(e.buffer[at : at+window])
	}
	e.buffer = append(e.buffer[:0], e.buffer[at:]...)
}

// see adds one frame: in each band, by how many dB its bins are louder than
// 16 ms ago on average. A machine's tones fill few bins, so they hide little.
func (e *ear) see(samples []float32) {
	var power float64
	for i, v := range samples {
		e.frame[i] = float64(v) * e.taper[i]
		power += float64(v) * float64(v)
	}
	if power/window > floor {
		e.heard.loud++
	}
	e.fft.Coefficients(e.bins, e.frame)
	now, before := &e.past[e.count%3], &e.past[(e.count+1)%3]
	for b, band := range bands {
		var rise float64
		for k := band[0]; k < band[1]; k++ {
			c := e.bins[k]
			now[k] = 10 * math.Log10(real(c)*real(c)+imag(c)*imag(c)+window*floor)
			rise += max(0, now[k]-before[k])
		}
		if e.count < 2 {
			rise = 0
		}
		e.heard.rises[b] = append(e.heard.rises[b], float32(rise/float64(band[1]-band[0])))
	}
	e.count++
}

// around is how many frames on each side tell what is usual: 5 s.
const around = 5 * fps

// scale measures each rise by the usual ones around it and keeps what is
// above: so events count, and steady noise, even if both have it in common,
// counts for little. The outcome has no mean and is capped, so that one bang
// is not everything.
func scale(rises []float32) {
	const least, unusual, most = 1, 1, 5 // dB; standard deviations
	sum, squares := make([]float64, len(rises)+1), make([]float64, len(rises)+1)
	for i, r := range rises {
		sum[i+1] = sum[i] + float64(r)
		squares[i+1] = squares[i] + float64(r)*float64(r)
	}
	var total float64
	for i := range rises {
		from, to := max(0, i-around), min(len(rises), i+around+1)
		n := float64(to - from)
		mean := (sum[to] - sum[from]) / n
		sd := math.Sqrt(max(0, (squares[to]-squares[from])/n-mean*mean))
		z := (float64(rises[i]) - mean) / max(least, sd)
		z = min(max(z-unusual, 0), most)
		rises[i] = float32(z)
		total += z
	}
	mean := float32(total / float64(max(1, len(rises))))
	var before float32
	for i := range rises { // and let neighbours share, for offsets that are no whole frames
		here := rises[i] - mean
		after := float32(0)
		if i+1 < len(rises) {
			after = rises[i+1] - mean
		}
		rises[i] = (before + 2*here + after) / 4
		before = here
	}
}
