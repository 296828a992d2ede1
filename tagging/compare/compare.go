// Package compare says what counts and measures of balls are worth: rates with
// their intervals, differences and whether chance explains them, whether two
// coders see the same thing, and whether a series has changed. Words come
// first (Verdict), figures stand behind them.
//
// It is pure arithmetic over counts and numbers. It must not know what a term
// is called, where balls are kept or how a chart is drawn.
//
// No function gives NaN or an infinity: where a figure does not exist, its Gap
// says why. All intervals are of 95 per cent. Rates and their limits lie in
// [0, 1], differences in [-1, 1]; neither has a unit.
package compare

import "math"

// Level is the confidence of every interval of the package, and 1 - Level the
// chance below which a difference is called unlikely to be chance.
const Level = 0.95

// z is the standard normal deviate that leaves 2.5 per cent above it.
const z = 1.959963984540054

// Gap says why there is no figure. The zero Gap says that there is one.
type Gap int

// The gaps.
const (
	None        Gap = iota
	NoBalls         // nothing was counted on a side
	OneBall         // a spread can't be told from one
	BadCounts       // more hits than balls, or fewer than none
	BadNumbers      // a reading that is not a finite number
	OneTerm         // both coders always used the same one term
	AllAlike        // every reading is the same: there is no spread to judge by
	SameRate        // two equal rates: no number of balls tells them apart
	AllOrNone       // it held always, or never, on both sides
	FewSessions     // sessions can't be drawn anew from one
	FewPoints       // a series that is too short to judge
	ManyPoints      // a series that is longer than anybody's sessions
)

var gapWords = [...]string{
	None: "", NoBalls: "no balls", OneBall: "one ball only", BadCounts: "the counts can't be right",
	BadNumbers: "a reading is not a number", OneTerm: "not defined: only one term was used",
	AllAlike: "all alike", SameRate: "the rates are the same", AllOrNone: "always or never on both sides",
	FewSessions: "needs two sessions on each side", FewPoints: "too few to tell a trend",
	ManyPoints: "too many to draw a line through",
}

// String gives the words for a person, "" for None.
func (g Gap) String() string {
	if g < 0 || int(g) >= len(gapWords) {
		return "not known"
	}
	return gapWords[g]
}

// Figure is a number that there may not be.
type Figure struct {
	Value float64 // 0 when there is a Gap
	Gap   Gap
}

// Known says whether there is a figure.
func (f Figure) Known() bool { return f.Gap == None }

// Estimate is a figure with the interval that it was estimated within.
type Estimate struct {
	Value, Low, High float64 // all 0 when there is a Gap
	Gap              Gap
}

// Known says whether there is an estimate.
func (e Estimate) Known() bool { return e.Gap == None }

// missing is an estimate that there is not.
func missing(g Gap) Estimate { return Estimate{Gap: g} }

// coefficient is an estimate of agreement with a standard error, kept within
// [-1, 1] on the sides where the value itself is: weighted ones may be below.
func coefficient(value, se float64) Estimate {
	return Estimate{
		Value: value,
		Low:   math.Max(math.Min(-1, value), value-z*se),
		High:  math.Min(1, value+z*se),
	}
}

// root is the square root of a variance, which rounding may have put below 0.
func root(variance float64) float64 { return math.Sqrt(math.Max(0, variance)) }
