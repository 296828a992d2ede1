// Package media holds the plain types and pure rules of footage: recordings,
// deliveries, clips and the clocks they live on.
//
// It must not know SQL, HTTP or any tool. Its sub-packages touch samples,
// pixels and files; this one only names what they speak of.
//
// Times. Everything in the domain is on the session clock: whole microseconds
// from the session's start (Micros). A recording has an affine map to it
// (Clock). Inside one file, times are on that file's own clock.
package media

import (
	"math"
	"time"
)

// Micros is a time or a duration in whole microseconds.
type Micros int64

// Second is one second.
const Second Micros = 1_000_000

// FromSeconds rounds seconds to the nearest microsecond.
func FromSeconds(s float64) Micros { return Micros(math.Round(s * 1e6)) }

// Seconds gives the time in seconds.
func (m Micros) Seconds() float64 { return float64(m) / 1e6 }

// Duration gives the time as a time.Duration.
func (m Micros) Duration() time.Duration { return time.Duration(m) * time.Microsecond }

// Span is a half-open stretch of time [Start, End).
type Span struct{ Start, End Micros }

// Length is End - Start.
func (s Span) Length() Micros { return s.End - s.Start }

// Contains says whether t lies in [Start, End).
func (s Span) Contains(t Micros) bool { return s.Start <= t && t < s.End }

// Overlap is the length that two spans share, 0 if they are apart.
func (s Span) Overlap(o Span) Micros { return max(0, min(s.End, o.End)-max(s.Start, o.Start)) }

// Clock maps a recording's own clock to the session clock:
// session = Offset + own * (1 + RatePPM/1e6).
type Clock struct {
	Offset  Micros  // where the recording's zero lies on the session clock
	RatePPM float64 // how much faster the session clock runs, parts per million
}

// ToSession maps a time of the recording to the session clock.
func (c Clock) ToSession(own Micros) Micros {
	return c.Offset + own + Micros(math.Round(float64(own)*c.RatePPM/1e6))
}

// ToRecording maps a time of the session clock to the recording's own.
func (c Clock) ToRecording(session Micros) Micros {
	return Micros(math.Round(float64(session-c.Offset) / (1 + c.RatePPM/1e6)))
}

// Then is the map that applies c first and next to its outcome: from c's own
// clock to the one that next maps to, within a microsecond.
func (c Clock) Then(next Clock) Clock {
	return Clock{
		Offset:  next.ToSession(c.Offset),
		RatePPM: c.RatePPM + next.RatePPM + c.RatePPM*next.RatePPM/1e6,
	}
}

// Inverse is the map back, within a microsecond.
func (c Clock) Inverse() Clock {
	return Clock{Offset: c.ToRecording(0), RatePPM: -c.RatePPM / (1 + c.RatePPM/1e6)}
}

// Delivery is one ball as the split finds it, on the recording's own clock.
type Delivery struct {
	Start      Micros
	Contact    *Micros // nil when nothing was struck
	End        Micros
	Confidence float64 // 0 to 1: how sure the split is that this is a ball
}

// Span is the delivery's stretch [Start, End).
func (d Delivery) Span() Span { return Span{d.Start, d.End} }

// Camera is where a camera stands.
type Camera string

// The camera positions.
const (
	SideOn       Camera = "side-on"
	BehindTheArm Camera = "behind-the-arm"
	OtherCamera  Camera = "other"
)

// Valid says whether c is one of the known positions.
func (c Camera) Valid() bool { return c == SideOn || c == BehindTheArm || c == OtherCamera }

// Beside says whether recordings of these two may show the same moment: one
// camera films one thing at a time, but there may be several other ones.
func (c Camera) Beside(o Camera) bool { return c != o || c == OtherCamera }

// Probe is what ffprobe tells of a file.
type Probe struct {
	Container   string  // ffprobe's format_name: "mov,mp4,m4a,3gp,3g2,mj2"
	VideoCodec  string  // "h264"; "" when there is no video stream
	Profile     string  // "High"
	PixelFormat string  // "yuv420p"
	AudioCodec  string  // "aac"; "" when there is no sound
	Width       int     // as shown: after rotation
	Height      int     // as shown: after rotation
	Rotation    int     // degrees clockwise: 0, 90, 180, 270
	FrameRate   float64 // average, frames a second
	VideoStart  Micros  // presentation time of the first picture
	Duration    Micros  // of the picture
	CreatedAt   *time.Time
}

// HasSound says whether the file has an audio stream.
func (p Probe) HasSound() bool { return p.AudioCodec != "" }

// BrowserShows says whether Chromium, Safari and Firefox all show the
// picture of a stream copy of this file in an MP4: 8-bit H.264 with 4:2:0
// colour and sound that MP4 carries everywhere (or none). Anything else waits
// for its smooth version.
func (p Probe) BrowserShows() bool {
	if p.VideoCodec != "h264" || (p.PixelFormat != "yuv420p" && p.PixelFormat != "yuvj420p") {
		return false
	}
	switch p.AudioCodec {
	case "", "aac", "mp3":
		return true
	}
	return false
}

// Trace is a curve over a recording for the lane: evenly spaced samples from
// time zero of the recording's own clock, each scaled to 0..255.
type Trace struct {
	Step   Micros // time between two samples
	Values []byte
}
