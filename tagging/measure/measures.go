package measure

import (
	"fmt"

	"netreel/media/fault"
)

// Measure is one thing that can be measured.
type Measure struct {
	Key   string `json:"key"`
	Name  string `json:"name"`
	Unit  Unit   `json:"unit"`
	About string `json:"about"` // what is measured, from where to where, and what the sign means
	Needs []Need `json:"needs"`

	vague float64 // standard deviation above which the value would mislead: it is refused
	take  func(*taking) (float64, error)
}

// Formula counts the states that the measures' formulas have been in. It goes up
// when one changes so that a value kept before would come out otherwise; such
// values are computed anew from their points. 2: a knee is measured from its
// own three points, with one foot in sight too.
const Formula = 2

// Need is something that a measure is taken from.
type Need string

// The needs beside parts, which are given as "stance.front-heel" and
// "contact.front-heel".
const (
	NeedsCalibration Need = "calibration"
	NeedsHeight      Need = "batter.height"
	NeedsTrigger     Need = "flight.trigger"
	NeedsRelease     Need = "flight.release"
	NeedsBounce      Need = "flight.bounce"
	NeedsArrival     Need = "flight.arrival"
)

// at lists parts of the contact frame as needs.
func at(parts ...Part) []Need { return on("contact.", parts) }

// before lists parts of the stance frame as needs.
func before(parts ...Part) []Need { return on("stance.", parts) }

func on(frame string, parts []Part) []Need {
	needs := make([]Need, len(parts))
	for i, p := range parts {
		needs[i] = Need(frame + string(p))
	}
	return needs
}

// calibrated puts the calibration before other needs.
func calibrated(needs ...[]Need) []Need {
	all := []Need{NeedsCalibration}
	for _, n := range needs {
		all = append(all, n...)
	}
	return all
}

// Measures lists all measures in the order in which they are shown.
func Measures() []Measure {
	return []Measure{
		baseWidth, baseShare, stanceBase, baseChange, stride,
		creaseDepth, stumpDistance, feetLine,
		headOverBase, headShare, trunkLean, frontKnee, backKnee, batAngle,
		ballHeight, ballSpeed, bounceSpeed, flightTime, triggerTime,
	}
}

// Find gives a measure by its key.
func Find(key string) (Measure, bool) {
	for _, m := range Measures() {
		if m.Key == key {
			return m, true
		}
	}
	return Measure{}, false
}

// Take measures. It fails with fault.Invalid when something is missing, or when
// the view can't support the measure; the message says which.
func (m Measure) Take(in Input) (Value, error) {
	if err := in.Validate(); err != nil {
		return Value{}, err
	}
	v, err := propagate(&in, m.take)
	if err != nil {
		return Value{}, fault.At("measure."+m.Key, err)
	}
	v.Measure, v.Unit = m.Key, m.Unit
	if !(v.Sigma <= m.vague) {
		return Value{}, fault.New(fault.Invalid, "measure."+m.Key, fmt.Sprintf(
			"From here this could only be told to ± %s %s: film from nearer, from higher up or more from the side.", number(v.Sigma, 0), m.Unit))
	}
	return v, nil
}

// Taken is a measure's value, or why there is none.
type Taken struct {
	Measure string `json:"measure"` // its key
	Value   *Value `json:"value,omitempty"`
	Refusal string `json:"refusal,omitempty"`
}

// TakeAll takes every measure, in the order of Measures.
func TakeAll(in Input) []Taken {
	var all []Taken
	for _, m := range Measures() {
		t := Taken{Measure: m.Key}
		if v, err := m.Take(in); err != nil {
			t.Refusal = fault.Message(err)
		} else {
			t.Value = &v
		}
		all = append(all, t)
	}
	return all
}
