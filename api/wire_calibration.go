package api

import (
	"time"

	"netreel/media"
	"netreel/tagging/measure"
	"netreel/tagging/reading"
)

func toPoint(p reading.Point) wirePoint { return wirePoint(p) }

func (p wirePoint) point() reading.Point { return reading.Point(p) }

type wireBox struct {
	X      float64 `json:"x"`
	Y      float64 `json:"y"`
	Width  float64 `json:"width"`
	Height float64 `json:"height"`
}

type wireCreaseMark struct {
	Key    string  `json:"key"`
	Name   string  `json:"name"`
	Click  string  `json:"click"`
	Set    string  `json:"set"`
	Use    string  `json:"use"`
	Weak   bool    `json:"weak"`
	Along  float64 `json:"along_m"`
	Across float64 `json:"across_m"`
	Up     float64 `json:"up_m"`
}

func toCreaseMark(m measure.Mark) wireCreaseMark {
	return wireCreaseMark{Key: m.Key, Name: m.Name, Click: m.Click, Set: string(m.Set), Use: string(m.Use), Weak: m.Weak,
		Along: m.X, Across: m.Y, Up: m.Z}
}

// wireOwn is a point of the person's own, by its distances.
type wireOwn struct {
	Key    string  `json:"key"`
	Name   string  `json:"name"`
	Use    string  `json:"use"`
	Along  float64 `json:"along_m"`
	Across float64 `json:"across_m"`
	Up     float64 `json:"up_m"`
}

func toOwn(m measure.Mark) wireOwn {
	return wireOwn{Key: m.Key, Name: m.Name, Use: string(m.Use), Along: m.X, Across: m.Y, Up: m.Z}
}

func (o wireOwn) mark() measure.Mark {
	return measure.Mark{Key: o.Key, Name: o.Name, Set: measure.Own, Use: measure.Use(o.Use), X: o.Along, Y: o.Across, Z: o.Up}
}

type wireClick struct {
	Mark string  `json:"mark"`
	X    float64 `json:"x"`
	Y    float64 `json:"y"`
}

// wireCalibrationInput is what a person clicked and typed.
type wireCalibrationInput struct {
	At       media.Micros  `json:"at_us"`
	Edition  string        `json:"edition"`
	Length   float64       `json:"length_m"`
	Own      []wireOwn     `json:"own"`
	Clicks   []wireClick   `json:"clicks"`
	Straight [][]wirePoint `json:"straight"`
	Box      *wireBox      `json:"box"`
}

func (w wireCalibrationInput) input() reading.CalibrationInput {
	return reading.CalibrationInput{
		At: w.At, Edition: w.Edition, Length: w.Length, Box: (*reading.Box)(w.Box), Own: each(w.Own, wireOwn.mark),
		Clicks:   each(w.Clicks, func(c wireClick) reading.Click { return reading.Click{Mark: c.Mark, At: reading.Point{X: c.X, Y: c.Y}} }),
		Straight: each(w.Straight, func(l []wirePoint) []reading.Point { return each(l, wirePoint.point) }),
	}
}

type wireResidual struct {
	Mark   string  `json:"mark"`
	Name   string  `json:"name"`
	Use    string  `json:"use"`
	Pixels float64 `json:"pixels"`
	Off    float64 `json:"off_cm"`
	Along  float64 `json:"along_cm"`
	Across float64 `json:"across_cm"`
	Sigma  float64 `json:"sigma_cm"`
}

type wireLine struct {
	Name   string      `json:"name"`
	Points []wirePoint `json:"points"`
}

type wireCalibration struct {
	ID *int64 `json:"id"`
	wireCalibrationInput
	Residuals []wireResidual `json:"residuals"`
	Warnings  []string       `json:"warnings"`
	Lines     []wireLine     `json:"lines"`
	Upright   bool           `json:"upright"`
	Bend      float64        `json:"bend"`
	By        string         `json:"by"`
	Made      *time.Time     `json:"made"`
}

func toCalibration(c reading.Calibration) wireCalibration {
	s := c.Solved
	w := wireCalibration{
		ID: orNull(c.ID), By: c.By, Upright: s.Camera != nil, Bend: s.Bend, Warnings: append([]string{}, s.Warnings...),
		wireCalibrationInput: wireCalibrationInput{
			At: c.At, Edition: s.Pitch.Laws.Name, Length: s.Pitch.Length, Box: (*wireBox)(c.Box), Own: each(s.Pitch.Own, toOwn),
			Clicks: each(s.Clicks, func(k measure.Click) wireClick {
				p := c.ClickAt(k)
				return wireClick{Mark: k.Mark, X: p.X, Y: p.Y}
			}),
			Straight: each(c.Straight(), func(l []reading.Point) []wirePoint { return each(l, toPoint) }),
		},
		Residuals: each(s.Residuals, func(r measure.Residual) wireResidual {
			return wireResidual{r.Mark, r.Name, string(r.Use), r.Pixels, r.Cm, r.Along, r.Across, r.Sigma}
		}),
		Lines: each(c.Lines(), func(l reading.Line) wireLine { return wireLine{l.Name, each(l.Points, toPoint)} }),
	}
	if !c.Made.IsZero() {
		made := c.Made.UTC()
		w.Made = &made
	}
	return w
}

// wireSheet is all that is needed to calibrate: what may be clicked, what the
// pitch may be, and what holds.
type wireSheet struct {
	Marks       []wireCreaseMark `json:"marks"`
	Lengths     []wireLength     `json:"lengths"`
	Editions    []string         `json:"editions"`
	Calibration *wireCalibration `json:"calibration"`
}

type wireLength struct {
	Name   string  `json:"name"`
	Metres float64 `json:"metres"`
	Advice string  `json:"advice"`
}

func toSheet(c *reading.Calibration) wireSheet {
	choices := reading.Choices()
	w := wireSheet{
		Marks: each(choices.Marks, toCreaseMark), Editions: choices.Editions,
		Lengths: each(choices.Lengths, func(l reading.Length) wireLength { return wireLength(l) }),
	}
	if c != nil {
		known := toCalibration(*c)
		w.Calibration = &known
	}
	return w
}
