// Package sound makes what a microphone in a cricket hall picks up: bat, ball,
// nets, feet, talk, the hall's own noise, each late by its way through the air
// and blurred by the room.
//
// It must not know the game or the picture: it is given events with a place,
// and writes samples.
package sound

import (
	"cmp"
	"io"
	"math"
	"math/rand/v2"
	"slices"

	"netreel/media/scene/space"
)

// Rate is the sample rate in hertz.
const Rate = 48000

// Kind says what makes a noise.
type Kind int

// The kinds of event.
const (
	Bat       Kind = iota // a ball met by the middle of a bat
	Mistimed              // a ball met badly: dull, with a buzz of the handle
	Edge                  // a ball that flicks the edge: thin and short
	Bounce                // a ball on the mat
	Net                   // a ball into a net
	Canvas                // a ball into the canvas behind the stumps
	Stumps                // a ball into the stumps
	Body                  // a ball on a pad, a glove or a body
	Foot                  // a step
	Launch                // a machine lets a ball go
	Talk                  // a phrase
	kindCount = iota
)

// Event is one noise.
type Event struct {
	At      float64 // s: when it is made, at its own place
	From    space.V
	Kind    Kind
	Loud    float64 // 1 is a firm one of its kind
	Seconds float64 // Talk: how long
	Muffled bool    // it comes through nets and past people
	Seed    uint64
}

// Span is a stretch of time in seconds.
type Span struct{ From, To float64 }

// Track is all that is heard.
type Track struct {
	Seconds float64
	Ear     space.V // where the microphone is
	Air     float64 // speed of sound, m/s
	Events  []Event
	Hall    float64 // hall noise, 0..1
	Wind    float64 // 0..1
	Machine []Span  // when a machine's wheels turn
	At      space.V // where the machine is
	Gain    float64 // of the microphone; 1 is a well-set one
	Dull    float64 // 0 bright to 1: a muffled microphone
	Seed    uint64
}

// near is the distance in metres at which a loudness of 1 is full.
const near = 8.0

// voice is an event's samples on their way into the mix.
type voice struct {
	start  int // sample of arrival
	dry    []float32
	direct float32
	room   float32
}

// block is how many samples are mixed at once.
const block = 4096

// Stream mixes the track and hands it on in pieces of samples in -1..1. The
// piece is valid only during the call. Memory does not grow with length.
func (t *Track) Stream(fn func([]float32) error) error {
	events := slices.Clone(t.Events)
	arrival := func(e Event) float64 { return e.At + e.From.Sub(t.Ear).Len()/t.Air }
	slices.SortStableFunc(events, func(a, b Event) int { return cmp.Compare(arrival(a), arrival(b)) })
	var active []voice
	room := newRoom()
	bed := newBed(t)
	mic := lowPass(18000 * math.Pow(0.06, t.Dull))
	gain := float32(t.Gain)
	mix, send := make([]float32, block), make([]float32, block)
	total := int(math.Round(t.Seconds * Rate))
	for at := 0; at < total; at += block {
		n := min(block, total-at)
		mix, send = mix[:n], send[:n]
		clear(mix)
		clear(send)
		for len(events) > 0 && arrival(events[0])*Rate < float64(at+n) {
			e := events[0]
			events = events[1:]
			active = append(active, t.speak(e, int(math.Round(arrival(e)*Rate))))
		}
		kept := active[:0]
		for _, v := range active {
			for i := max(0, v.start-at); i < n && at+i-v.start < len(v.dry); i++ {
				s := v.dry[at+i-v.start]
				mix[i] += s * v.direct
				send[i] += s * v.room
			}
			if v.start+len(v.dry) > at+n {
				kept = append(kept, v)
			}
		}
		active = kept
		bed.add(mix, send, at)
		room.add(mix, send)
		for i, s := range mix {
			mix[i] = limit(mic.next(s) * gain)
		}
		if err := fn(mix); err != nil {
			return err
		}
	}
	return nil
}

// speak renders an event. The first sample is the moment it happens.
func (t *Track) speak(e Event, start int) voice {
	r := rand.New(rand.NewPCG(t.Seed, e.Seed))
	dry := make([]float32, 0, Rate/4)
	dry = voices[e.Kind](dry, r, e)
	far := e.From.Sub(t.Ear).Len()
	v := voice{start: start, dry: dry, direct: float32(e.Loud * near / max(1, far)), room: float32(e.Loud * 0.20)}
	// Air and people take the high tones away over distance.
	cut := 16000 * math.Exp(-max(0, far-near)/14)
	if e.Muffled {
		cut *= 0.30
		v.direct *= 0.42
		v.room *= 0.8
	}
	f := lowPass(cut)
	for i, s := range dry {
		dry[i] = f.next(s)
	}
	return v
}

// limit is straight up to 0.8 and bends towards 1 above.
func limit(s float32) float32 {
	a := max(s, -s)
	if a <= 0.8 {
		return s
	}
	b := 0.8 + 0.2*float32(math.Tanh(float64(a-0.8)/0.2))
	if s < 0 {
		return -b
	}
	return b
}

// WriteWAV writes the track as 16-bit mono PCM in a WAVE file (RIFF, format
// tag 1).
func (t *Track) WriteWAV(w io.Writer) error {
	total := int(math.Round(t.Seconds * Rate))
	head := make([]byte, 0, 44)
	le4 := func(v int) { head = append(head, byte(v), byte(v>>8), byte(v>>16), byte(v>>24)) }
	le2 := func(v int) { head = append(head, byte(v), byte(v>>8)) }
	head = append(head, "RIFF"...)
	le4(36 + 2*total)
	head = append(head, "WAVEfmt "...)
	le4(16)
	le2(1)
	le2(1)
	le4(Rate)
	le4(2 * Rate)
	le2(2)
	le2(16)
	head = append(head, "data"...)
	le4(2 * total)
	if _, err := w.Write(head); err != nil {
		return err
	}
	buf := make([]byte, 0, 2*block)
	return t.Stream(func(s []float32) error {
		buf = buf[:0]
		for _, v := range s {
			q := int16(math.Round(float64(v) * 32767))
			buf = append(buf, byte(q), byte(uint16(q)>>8))
		}
		_, err := w.Write(buf)
		return err
	})
}
