package lookback

import (
	"fmt"
	"slices"
	"strings"

	"netreel/tagging/compare"
	"netreel/tagging/vocabulary"
)

// Comparison is two sets of balls held against each other.
type Comparison struct {
	Left, Right Side
	Shared      Cell     // balls that are in both
	Warnings    []string // what spoils the comparison, in words
	Outcomes    []OutcomeComparison
	Measures    []MeasureComparison // those that both sides have
}

// Side is one set in short.
type Side struct {
	Balls    Cell
	Sessions int
	Feeds    []Feed // most balls first
}

// Feed is balls fed in one way.
type Feed struct {
	Key, Name string // "" and "Not said" when nobody said
	Cell
}

// OutcomeComparison is one outcome on both sides.
type OutcomeComparison struct {
	Left, Right Rate
	Verdict     compare.Verdict
	Figures     compare.RateComparison
}

// Compare holds two sets against each other in some outcomes, adjusted among
// these. a and b name the sides in a sentence.
func Compare(e vocabulary.Edition, left, right Set, outcomes []Outcome, a, b string) Comparison {
	c := Comparison{Left: left.side(e), Right: right.side(e)}
	in := map[int64]bool{}
	for _, ball := range left.balls {
		in[ball.ID] = true
	}
	c.Shared = right.cell(func(b seen) bool { return in[b.ID] })
	figures := make([]compare.RateComparison, len(outcomes))
	for i, o := range outcomes {
		figures[i] = compare.Rates(left.parts(e, o.judge), right.parts(e, o.judge), seed)
	}
	compare.Adjust(figures)
	for i, o := range outcomes {
		c.Outcomes = append(c.Outcomes, OutcomeComparison{
			Left: left.rate(e, o), Right: right.rate(e, o), Figures: figures[i],
			Verdict: verdictOf(figures[i], compare.Words{Held: o.Name + ":", A: a, B: b}),
		})
	}
	c.Measures = compareMeasures(left, right, func(feed string) string { return feedName(e, feed) }, a, b)
	c.Warnings = c.warn()
	return c
}

// verdictOf leaves the warning of feeds out of a sentence that stands beside
// many others: it is said once, over all of them.
func verdictOf(c compare.RateComparison, w compare.Words) compare.Verdict {
	c.Feeds = nil
	return c.Verdict(w)
}

func (s Set) side(e vocabulary.Edition) Side {
	side := Side{Balls: s.cell(func(seen) bool { return true })}
	sessions := map[int64]bool{}
	for _, b := range s.balls {
		sessions[b.SessionID] = true
	}
	side.Sessions, side.Feeds = len(sessions), s.feeds(e)
	return side
}

// feeds says how the balls of a set were fed, most balls first.
func (s Set) feeds(e vocabulary.Edition) []Feed {
	keys := map[string]bool{}
	for _, b := range s.balls {
		keys[b.feed()] = true
	}
	var list []Feed
	for key := range keys {
		ask := only(groupFeed, key)
		if key == "" {
			ask = narrow{uncoded: []string{groupFeed}}
		}
		list = append(list, Feed{key, feedName(e, key), s.cell(func(b seen) bool { return b.feed() == key }, ask)})
	}
	slices.SortFunc(list, func(a, b Feed) int {
		if a.N != b.N {
			return b.N - a.N
		}
		return strings.Compare(a.Name, b.Name)
	})
	return list
}

func feedName(e vocabulary.Edition, key string) string {
	if key == "" {
		return "Not said"
	}
	return name(e, groupFeed, key)
}

// warn says what spoils a comparison.
func (c Comparison) warn() []string {
	var list []string
	if c.Shared.N > 0 {
		list = append(list, fmt.Sprintf("Balls that are in both sets: %d. They blur what differs; ask so that no ball is in both.", c.Shared.N))
	}
	feeds := map[string]bool{}
	for _, side := range []Side{c.Left, c.Right} {
		for _, f := range side.Feeds {
			feeds[f.Key] = true
		}
	}
	if len(feeds) > 1 {
		list = append(list, "Balls were fed in different ways: "+c.Left.fed()+" against "+c.Right.fed()+
			". Batters move and time differently against a bowler, a machine and a side-arm, so compare like with like.")
	}
	if c.Left.Sessions == 1 && c.Right.Sessions == 1 {
		list = append(list, "One session on a side: what was different that day is in the figures too.")
	}
	return list
}

func (s Side) fed() string {
	parts := make([]string, len(s.Feeds))
	for i, f := range s.Feeds {
		parts[i] = fmt.Sprintf("%s %d", strings.ToLower(f.Name), f.N)
	}
	if len(parts) == 0 {
		return "none"
	}
	return strings.Join(parts, ", ")
}
