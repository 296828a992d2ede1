// Package reading is what is kept of measuring: how a camera was calibrated,
// the points that were read off a ball's frames, what followed from them, and
// the limits by which a coach calls a value narrow, sound or wide. It joins
// package measure, which computes, with balls and players.
//
// The package is pure. It must not know where readings are kept, how they are
// shown, or what proposes the points.
//
// Points of a picture are in shares of its width and height, so that they fit
// a still of any size; package measure has pixels.
package reading

import (
	"time"

	"netreel/media"
	"netreel/media/fault"
	"netreel/media/laws"
	"netreel/tagging/measure"
)

// Point is a place in a picture, in shares of its width and height.
type Point struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

func (p Point) inside() bool { return p.X >= 0 && p.X <= 1 && p.Y >= 0 && p.Y <= 1 } // NaN is not

// pixel is the place in a picture of a size.
func (p Point) pixel(width, height int) measure.Pixel {
	return measure.Pixel{X: p.X * float64(width), Y: p.Y * float64(height)}
}

// share is a pixel of a picture of a size as a Point.
func share(p measure.Pixel, width, height int) Point {
	return Point{p.X / float64(width), p.Y / float64(height)}
}

// Box is a part of the picture, in shares of its width and height: where the
// batter is to be looked for.
type Box struct {
	X      float64 `json:"x"`
	Y      float64 `json:"y"`
	Width  float64 `json:"width"`
	Height float64 `json:"height"`
}

// minBox is the least width and height of a box: smaller is a slip of the hand.
const minBox = 0.02

func (b Box) validate() error {
	if b.X >= 0 && b.Y >= 0 && b.Width >= minBox && b.Height >= minBox && b.X+b.Width <= 1+1e-9 && b.Y+b.Height <= 1+1e-9 {
		return nil
	}
	return fault.New(fault.Invalid, "reading.Box", "The batter's box must lie in the picture and not be tiny. Draw it again.",
		fault.Field{Name: "box", Reason: "must lie in the picture"})
}

// Calibration is how a recording's camera sees the lane. The zero ID is one
// that is tried and not kept.
type Calibration struct {
	ID          int64
	RecordingID int64
	At          media.Micros // of the still that was clicked on, recording's own clock
	Box         *Box
	Solved      *measure.Calibration
	By          string // the account's name
	Made        time.Time
}

// Click is a mark clicked in the picture.
type Click struct {
	Mark string
	At   Point
}

// CalibrationInput is what a person clicks and types.
type CalibrationInput struct {
	At       media.Micros
	Box      *Box
	Edition  string         // name of an edition of laws.Editions; "" for the usual one
	Length   float64        // of the pitch, metres; 0: the edition's
	Own      []measure.Mark // points with typed places
	Clicks   []Click
	Straight [][]Point // points along lines that are straight in the world
}

// Limits of a calibration's input.
const (
	maxOwn   = 40
	maxLabel = 80
	maxAt    = 48 * 3600 * media.Second
)

// Solve calibrates a picture of a size, in pixels. It is fault.Invalid when
// the clicks can't fix the ground; its message says why and what to do.
func (in CalibrationInput) Solve(width, height int) (Calibration, error) {
	const op = "reading.Solve"
	bad := func(field, reason string) error {
		return fault.New(fault.Invalid, op, "This can't be calibrated: "+field+" "+reason+".", fault.Field{Name: field, Reason: reason})
	}
	if in.At < 0 || in.At > maxAt {
		return Calibration{}, bad("at_us", "must be a time of the recording")
	}
	if in.Box != nil {
		if err := in.Box.validate(); err != nil {
			return Calibration{}, err
		}
	}
	if len(in.Own) > maxOwn {
		return Calibration{}, bad("own", "has too many points")
	}
	for _, m := range in.Own {
		if m.Name == "" || len([]rune(m.Name)) > maxLabel {
			return Calibration{}, bad("own", "has a point without a name, or with too long a one")
		}
	}
	edition, ok := editionNamed(in.Edition)
	if !ok {
		return Calibration{}, bad("edition", "is not known")
	}
	setup := measure.Setup{Pitch: measure.Pitch{Laws: edition, Length: in.Length, Own: in.Own}, Width: width, Height: height}
	for _, line := range in.Straight {
		var pixels []measure.Pixel
		for _, p := range line {
			if !p.inside() {
				return Calibration{}, bad("straight", "leaves the picture")
			}
			pixels = append(pixels, p.pixel(width, height))
		}
		setup.Straight = append(setup.Straight, pixels)
	}
	clicks := make([]measure.Click, len(in.Clicks))
	for i, c := range in.Clicks {
		p := c.At.pixel(width, height)
		clicks[i] = measure.Click{Mark: c.Mark, X: p.X, Y: p.Y}
	}
	solved, err := measure.Calibrate(setup, clicks)
	if err != nil {
		return Calibration{}, err
	}
	return Calibration{At: in.At, Box: in.Box, Solved: solved}, nil
}

// ClickAt is where a mark was clicked.
func (c Calibration) ClickAt(k measure.Click) Point {
	return share(measure.Pixel{X: k.X, Y: k.Y}, c.Solved.Width, c.Solved.Height)
}

// Straight lists the lines that were marked for the lens.
func (c Calibration) Straight() [][]Point {
	lines := [][]Point{}
	for _, line := range c.Solved.Setup.Straight {
		points := make([]Point, len(line))
		for i, p := range line {
			points[i] = share(p, c.Solved.Width, c.Solved.Height)
		}
		lines = append(lines, points)
	}
	return lines
}

// Line is a line of the lane as the calibration sees it, for drawing back over
// the picture. It may leave the picture.
type Line struct {
	Name   string
	Points []Point
}

// Lines draws the edges that the Laws fix, the stumps, and own points.
func (c Calibration) Lines() []Line {
	lines := []Line{}
	for _, l := range c.Solved.Lines() {
		line := Line{Name: l.Name, Points: make([]Point, len(l.Points))}
		for i, p := range l.Points {
			line.Points[i] = share(p, c.Solved.Width, c.Solved.Height)
		}
		lines = append(lines, line)
	}
	return lines
}

// Sheet is what may be chosen to calibrate.
type Sheet struct {
	Marks    []measure.Mark // of a full-length pitch, the best first
	Lengths  []Length
	Editions []string // of the Laws, the usual one first
}

// Length is a length of pitch that somebody prescribes or advises.
type Length struct {
	Name   string
	Metres float64
	Advice string // whose, and of when
}

// Choices lists what may be clicked and how long a pitch may be.
func Choices() Sheet {
	var s Sheet
	for _, e := range laws.Editions() {
		s.Editions = append(s.Editions, e.Name)
	}
	for _, l := range laws.PitchLengths() {
		s.Lengths = append(s.Lengths, Length(l))
	}
	s.Marks = measure.Pitch{Laws: laws.Editions()[0]}.Marks()
	return s
}

// editionNamed finds an edition of the Laws by its name; "" is the usual one.
func editionNamed(name string) (laws.Edition, bool) {
	for _, e := range laws.Editions() {
		if name == "" || e.Name == name {
			return e, true
		}
	}
	return laws.Edition{}, false
}
