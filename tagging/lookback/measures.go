package lookback

import (
	"netreel/tagging/compare"
	"netreel/tagging/measure"
)

// Measured is what was measured on the balls of a set.
type Measured struct {
	Measure measure.Measure
	Balls   Cell
	Mean    compare.Estimate // with its interval; balls taken as independent
}

// measures lists what was measured on any ball of a set, in the order in which
// measures are shown.
func (s Set) measures() []Measured {
	var list []Measured
	for _, m := range measure.Measures() {
		if got := s.measured(m); got.Balls.N > 0 {
			list = append(list, got)
		}
	}
	return list
}

func (s Set) measured(m measure.Measure) Measured {
	got := Measured{Measure: m, Balls: s.cell(func(b seen) bool { _, ok := b.Measured[m.Key]; return ok }, narrow{measured: m.Key})}
	var values []float64
	for _, r := range s.readings(m, nil) {
		values = append(values, r.Value)
	}
	got.Mean = compare.Mean(values)
	return got
}

// readings are the values of a measure for package compare; named says how a
// feed is called, nil leaves them out.
func (s Set) readings(m measure.Measure, named func(string) string) []compare.Reading {
	var list []compare.Reading
	for _, b := range s.balls {
		v, ok := b.Measured[m.Key]
		if !ok {
			continue
		}
		r := compare.Reading{Session: b.SessionID, Value: v}
		if named != nil {
			r.Feed = named(b.feed())
		}
		list = append(list, r)
	}
	return list
}

// readingMean is the mean of what was measured; there must be some.
func (s Set) readingMean(m measure.Measure) float64 {
	sum, n := 0.0, 0.0
	for _, r := range s.readings(m, nil) {
		sum, n = sum+r.Value, n+1
	}
	return sum / n
}

// MeasureComparison is a measure on both sides.
type MeasureComparison struct {
	Left, Right Measured
	Verdict     compare.Verdict
	Figures     compare.MeanComparison
}

// compareMeasures compares what was measured on both sides, adjusted among
// these.
func compareMeasures(left, right Set, named func(string) string, a, b string) []MeasureComparison {
	var list []MeasureComparison
	var figures []compare.MeanComparison
	for _, l := range left.measures() {
		r := right.measured(l.Measure)
		if r.Balls.N == 0 {
			continue
		}
		list = append(list, MeasureComparison{Left: l, Right: r})
		figures = append(figures, compare.Means(left.readings(l.Measure, named), right.readings(l.Measure, named), seed))
	}
	compare.Adjust(figures)
	for i := range list {
		m := list[i].Left.Measure
		list[i].Figures = figures[i]
		quiet := figures[i]
		quiet.Feeds = nil // said once, over all comparisons
		list[i].Verdict = quiet.Verdict(compare.MeanWords{Measure: m.Name, Unit: string(m.Unit), A: a, B: b, Digits: Digits(m)})
	}
	return list
}

// Digits are the decimal places that a measure is good for.
func Digits(m measure.Measure) int {
	if m.Unit == measure.Seconds {
		return 2
	}
	return 0
}
