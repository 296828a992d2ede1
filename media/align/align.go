// Package align lays recordings of one session on one clock by their sound.
//
// Two cameras hear the same hall through different microphones. The search goes
// from coarse to fine. Rises of loudness in a few bands, 125 a second, are
// correlated over all offsets, piece by piece, which finds the few offsets that
// are worth a look. At each of these, short windows around shared events are
// compared sample by sample (PHAT: phases only), and the offset and the drift
// along which the windows agree best win. What lies beside the winner tells how
// sure that is; when nothing stands out, nothing is claimed.
//
// It must not know ffmpeg, files, sessions or the database: it hears samples,
// and a recording's own clock begins with its first sample.
package align

import (
	"context"
	"math"

	"netreel/media"
	"netreel/media/fault"
)

// Sound is one recording, as it is heard here.
type Sound interface {
	// Sound decodes the sound to mono at rate samples a second and calls fn in
	// order, from one goroutine; the first sample lies at the recording's time
	// zero and gaps are filled with silence. What fn is given is valid only during the call.
	Sound(ctx context.Context, rate int, fn func([]float32) error) error
}

// Distances are how far the two microphones stand from the batter in metres.
// Sound is late by Late of them; where they are equal or both 0 (not known)
// nothing is corrected.
type Distances struct{ A, B float64 }

// SpeedOfSound is that in dry air at 20 degrees Celsius, metres a second.
// Source: 331.3 m/s at 0 degrees, rising by 0.606 m/s a degree, from memory.
const SpeedOfSound = 343.0

// farthest is the longest believable distance from a microphone to the batter, metres.
const farthest = 200

// Late is by how much sound from so many metres away is late, seconds.
func Late(metres float64) float64 { return metres / SpeedOfSound }

// Sure is the confidence from which a match is to be believed. Below it the
// search refuses.
const Sure = 0.5

// Match is how B's clock lies on A's.
type Match struct {
	// Clock maps B's own clock to A's: a = Offset + b*(1 + RatePPM/1e6). Offset
	// is the time on A's clock at which B's reads zero; it is negative when B
	// began before A. A positive rate says that A's clock runs faster than B's.
	Clock media.Clock
	// Confidence is the estimated probability, 0 to 1, that the offset is right
	// within 10 ms in the middle of the overlap.
	Confidence float64
	OffsetErr  float64      // standard error in the middle of the overlap, seconds
	RateErr    float64      // standard error of the rate, parts per million
	At         media.Micros // middle of the overlap, on B's clock
	Overlap    float64      // how long both recorded, seconds
	Windows    int          // how many compared windows agree
	Why        string       // for a person: why there is no certainty; "" when there is
}

// Refused says whether the match is not to be believed.
func (m Match) Refused() bool { return m.Confidence < Sure }

// shortest is the shortest overlap that is tried, seconds.
const shortest = 5.0

// Find finds how B's clock lies on A's.
//
// A pair that can't be aligned is no error: its Match is refused and Why says
// the reason. It returns fault.Invalid for distances that cannot be, and what
// a.Sound and b.Sound return.
func Find(ctx context.Context, a, b Sound, d Distances) (Match, error) {
	const op = "align.Find"
	for _, metres := range []float64{d.A, d.B} {
		if !(metres >= 0 && metres <= farthest) { // NaN too
			return Match{}, fault.New(fault.Invalid, op, "A camera's distance from the batter must lie between 0 and 200 metres.")
		}
	}
	heardA, err := listen(ctx, a)
	if err != nil {
		return Match{}, fault.At(op, err)
	}
	heardB, err := listen(ctx, b)
	if err != nil {
		return Match{}, fault.At(op, err)
	}
	if why := unusable(heardA, heardB); why != "" {
		return Match{Why: why}, nil
	}
	lines := coarse(heardA, heardB)
	m, err := fine(ctx, a, b, heardA, heardB, lines)
	if err != nil {
		return Match{}, fault.At(op, err)
	}
	m.Clock.Offset += media.FromSeconds(Late(d.B) - Late(d.A))
	return m, nil
}

// unusable says why two recordings can't be compared at all, "" if they can.
func unusable(a, b heard) string {
	for _, side := range []struct {
		heard
		name string
	}{{a, "first"}, {b, "second"}} {
		switch {
		case side.seconds() < shortest:
			return "The " + side.name + " recording is too short to be compared."
		case side.silent():
			return "The " + side.name + " recording is silent."
		}
	}
	return ""
}

// line is a guess of how B's clock lies on A's, seconds: a = lag + b*(1+rate).
type line struct {
	lag, rate float64
	score     float64 // how much speaks for it; only its order means anything
}

func (l line) at(b float64) float64 { return l.lag + b*(1+l.rate) }

// overlap is the stretch of B's clock in which both recorded.
func (l line) overlap(a, b heard) (start, end float64) {
	start = max(0, -l.lag/(1+l.rate))
	end = min(b.seconds(), (a.seconds()-l.lag)/(1+l.rate))
	return start, max(start, end)
}

func ppm(rate float64) float64 { return math.Round(rate*1e9) / 1e3 }
