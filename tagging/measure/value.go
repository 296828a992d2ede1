package measure

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Unit is what a value is counted in, as it is printed.
type Unit string

// The units.
const (
	Centimetres Unit = "cm"
	Percent     Unit = "%"
	Degrees     Unit = "°"
	KmPerHour   Unit = "km/h"
	Seconds     Unit = "s"
)

// Value is a measured number with how sure it is.
type Value struct {
	Measure string   `json:"measure"` // its key
	Value   float64  `json:"value"`
	Sigma   float64  `json:"sigma"` // one standard deviation: two in three true values lie within it
	Unit    Unit     `json:"unit"`
	Low     *float64 `json:"low,omitempty"`  // of a value that frames bound: no less than this ...
	High    *float64 `json:"high,omitempty"` // ... and no more
	Caveats []string `json:"caveats"`        // what else to know, in words
}

// String prints value and standard deviation as people read them: "62 ± 3 cm",
// "0.53 ± 0.02 s". The deviation has one figure, two when the first is a 1;
// degrees and kilometres an hour are whole.
func (v Value) String() string {
	places := 0
	if s := math.Abs(v.Sigma); s > 0 && v.Unit != Degrees && v.Unit != KmPerHour {
		places = int(-math.Floor(math.Log10(s)))
		if first := s * math.Pow10(places); math.Round(first) == 1 {
			places++
		}
		places = min(max(places, 0), 3)
		if v.Unit != Seconds {
			places = min(places, 1) // no click is better than a millimetre
		}
	}
	sigma := math.Abs(v.Sigma)
	if least := math.Pow10(-places); sigma > 0 && sigma < least {
		sigma = least
	}
	space := " "
	if v.Unit == Degrees {
		space = ""
	}
	return fmt.Sprintf("%s ± %s%s%s", number(v.Value, places), number(sigma, places), space, v.Unit)
}

// Of is a value of a measure as it was kept; a measure that is not known any
// more has its key for a name, and no unit.
func Of(key string, value, sigma float64, caveats []string) (name string, v Value) {
	m, known := Find(key)
	if !known {
		m.Name = key
	}
	return m.Name, Value{Measure: key, Value: value, Sigma: sigma, Unit: m.Unit, Caveats: caveats}
}

// Less is how much a value is above another of the same measure. The errors of
// both are taken for independent: those of clicks are, and what two values off
// one calibration share goes out of their difference, so that the deviation is
// rather too large than too small.
func (v Value) Less(w Value) Value {
	return Value{Measure: v.Measure, Value: v.Value - w.Value, Sigma: math.Hypot(v.Sigma, w.Sigma), Unit: v.Unit}
}

// Signed prints as String does, with a plus where a value is above nought.
func (v Value) Signed() string {
	s := v.String()
	if figure, _, _ := strings.Cut(s, " "); v.Value > 0 && strings.Trim(figure, "0.") != "" {
		return "+" + s
	}
	return s
}

// number prints with a real minus and no negative nought.
func number(v float64, places int) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', places, 64)
	if v < 0 && s != strconv.FormatFloat(0, 'f', places, 64) {
		return "−" + s
	}
	return s
}
