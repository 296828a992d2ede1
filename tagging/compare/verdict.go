package compare

import (
	"fmt"
	"math"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Finding is what a comparison comes to.
type Finding string

// The findings. None says that something is better or causes something: the
// balls were not dealt out by lot.
const (
	TooFew    Finding = "too-few"    // no outcome of so few balls could have told
	MayChance Finding = "may-chance" // so large a difference comes about by chance alone
	Alike     Finding = "alike"      // if they differ, then by little
	NotChance Finding = "not-chance" // unlikely to be chance
)

// Verdict is a comparison in words.
type Verdict struct {
	Finding Finding
	Text    string // a sentence, and one more where there is a warning
}

// Words are what a verdict is made of: "went badly", "with a narrow base",
// "with a sound one".
type Words struct{ Held, A, B string }

// FewBalls is the fewest balls on a side that a verdict is given on, and
// Little the difference of rates that does not matter to a coach (both common
// practice, no source).
const (
	FewBalls = 5
	Little   = 0.1
)

// Verdict says in words what a comparison of rates comes to, after Holm where
// that was asked for. Sessions outweigh balls: where a bootstrap over enough
// sessions can't tell the difference from none, nor does the verdict.
func (c RateComparison) Verdict(w Words) Verdict {
	f := c.finding()
	seen := fmt.Sprintf("%s %s %s, %s %s", w.Held, count(c.A), w.A, count(c.B), w.B)
	return Verdict{f, sentence(seen, c.meaning(f), c.Warning())}
}

func (c RateComparison) finding() Finding {
	switch {
	case min(c.A.Of, c.B.Of) < FewBalls || !c.Chance.Known():
		return TooFew
	case c.significant() && !c.Sessions.doubt():
		return NotChance
	case c.Difference.Low > -Little && c.Difference.High < Little:
		return Alike
	case !c.OddsRatio.Known() || leastChance(c.A, c.B) >= 1-Level:
		return TooFew
	}
	return MayChance
}

func (c RateComparison) significant() bool { return c.Adjusted.Value < 1-Level }

// doubt says that the sessions differ among themselves as much as the sides do.
func (c Clustered) doubt() bool {
	return c.Difference.Known() && !c.Rough && c.Difference.Low <= 0 && c.Difference.High >= 0
}

func (c RateComparison) meaning(f Finding) string {
	switch f {
	case TooFew:
		return tooFew
	case Alike:
		return "much the same"
	case NotChance:
		return notChance(c.Among)
	}
	switch {
	case c.significant():
		return sessionsAlso
	case c.Needed.Known():
		return fmt.Sprintf("may be chance: it would take about %.0f balls on each side to tell", c.Needed.Value)
	}
	return "may be chance"
}

// MeanWords are what a verdict on a measure is made of: "base width", "cm",
// "with a narrow bat", "with a full one". Digits are the decimal places that
// the measure is good for.
type MeanWords struct {
	Measure, Unit, A, B string
	Digits              int
}

// Verdict says in words what a comparison of means comes to, after Holm where
// that was asked for, and with the same regard to sessions as of rates.
func (c MeanComparison) Verdict(w MeanWords) Verdict {
	f, meaning := c.finding()
	seen := fmt.Sprintf("%s %s %s, %s %s", w.Measure, w.amount(c.MeanA, c.NA), w.A, w.amount(c.MeanB, c.NB), w.B)
	return Verdict{f, sentence(seen, meaning, c.Warning())}
}

func (c MeanComparison) finding() (Finding, string) {
	switch {
	case c.Chance.Gap == AllAlike || c.Chance.Gap == BadNumbers:
		return TooFew, c.Chance.Gap.String()
	case min(c.NA, c.NB) < FewBalls || !c.Chance.Known():
		return TooFew, tooFew
	case c.Adjusted.Value >= 1-Level:
		return MayChance, "may be chance"
	case c.Sessions.doubt():
		return MayChance, sessionsAlso
	}
	return NotChance, notChance(c.Among)
}

const (
	tooFew       = "too few to tell"
	sessionsAlso = "but sessions differ among themselves as much, so it may be chance"
)

func (w MeanWords) amount(m Estimate, n int) string {
	if !m.Known() {
		return m.Gap.String()
	}
	scale := math.Pow(10, float64(w.Digits))
	return fmt.Sprintf("%.*f %s (%d balls)", w.Digits, math.Round(m.Value*scale)/scale, w.Unit, n)
}

func count(r Rate) string { return fmt.Sprintf("%d of %d", r.Hits, r.Of) }

func notChance(among int) string {
	if among < 2 {
		return "unlikely to be chance"
	}
	return fmt.Sprintf("unlikely to be chance even among %d comparisons", among)
}

// sentence makes one of what was seen and what it means; a warning follows it.
func sentence(seen, meaning, warning string) string {
	first, size := utf8.DecodeRuneInString(seen)
	return strings.TrimSpace(string(unicode.ToUpper(first)) + seen[size:] + "; " + meaning + ". " + warning)
}

// leastChance is the smallest value that Fisher can have with the totals of a
// and b, however their hits are spread.
func leastChance(a, b Rate) float64 {
	t := tables{a.Of, b.Of, a.Hits + b.Hits}
	least := 1.0
	for _, hits := range []int{t.least(), t.most()} {
		least = math.Min(least, Fisher(Rate{hits, a.Of}, Rate{t.hits - hits, b.Of}).Value)
	}
	return least
}
