package compare

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Part is what was counted on one side of a comparison in one session, of
// balls fed in one way. Feed is in the words to show, "" when nobody said.
type Part struct {
	Session int64
	Feed    string
	Rate    Rate
}

// RateComparison is two rates held against each other.
type RateComparison struct {
	A, B           Rate
	ShareA, ShareB Estimate
	Difference     Estimate // A less B, balls taken as independent
	OddsRatio      Estimate
	Tested                // Fisher's chance
	Needed         Figure // balls on each side that would tell
	Sessions       Clustered
	Feeds          []FeedRates // by how the balls were fed, ascending
}

// FeedRates is a comparison of the balls that were fed in one way.
type FeedRates struct {
	Feed       string
	A, B       Rate
	Difference Estimate
	Chance     Figure
}

// Rates holds two sides against each other. Balls that were fed in
// different ways are counted together only beside a warning (see Warning), and
// are there apart in Feeds: kinematics and contact differ between a bowler, a
// machine and a side-arm (R. A. Pinder et al. 2011, Attention, Perception &
// Psychophysics 73:1242-1254). The seed is of the bootstrap over sessions.
func Rates(a, b []Part, seed uint64) RateComparison {
	c := RateComparison{A: total(a), B: total(b)}
	c.ShareA, c.ShareB = c.A.Share(), c.B.Share()
	c.Difference, c.OddsRatio = Difference(c.A, c.B), OddsRatio(c.A, c.B)
	c.Tested, c.Needed = alone(Fisher(c.A, c.B)), BallsNeeded(c.A, c.B)
	sessions, feeds := map[int64]totals{}, map[string]*[2]Rate{}
	for side, parts := range [2][]Part{a, b} {
		for _, p := range parts {
			if p.Rate.Gap() != None {
				continue
			}
			t := sessions[p.Session]
			t.sum[side] += float64(p.Rate.Hits)
			t.n[side] += float64(p.Rate.Of)
			sessions[p.Session] = t
			if feeds[p.Feed] == nil {
				feeds[p.Feed] = &[2]Rate{}
			}
			feeds[p.Feed][side] = feeds[p.Feed][side].Add(p.Rate)
		}
	}
	c.Sessions = bootstrap(sessions, seed)
	for feed, r := range feeds {
		c.Feeds = append(c.Feeds, FeedRates{feed, r[0], r[1], Difference(r[0], r[1]), Fisher(r[0], r[1])})
	}
	slices.SortFunc(c.Feeds, func(x, y FeedRates) int { return cmp.Compare(x.Feed, y.Feed) })
	return c
}

// Warning says that balls which were fed in different ways are counted
// together; "" when they are not.
func (c RateComparison) Warning() string {
	feeds := make([]fed, len(c.Feeds))
	for i, f := range c.Feeds {
		feeds[i] = fed{f.Feed, f.A.Of + f.B.Of}
	}
	return mixed(feeds)
}

type fed struct {
	name  string
	balls int
}

func mixed(feeds []fed) string {
	if len(feeds) < 2 {
		return ""
	}
	parts := make([]string, len(feeds))
	for i, f := range feeds {
		parts[i] = fmt.Sprintf("%s %d", cmp.Or(f.name, "not said"), f.balls)
	}
	return "Balls that were fed in different ways are counted together here (" + strings.Join(parts, ", ") +
		"): compare like with like."
}

func total(parts []Part) Rate {
	var r Rate
	for _, p := range parts {
		r = r.Add(p.Rate)
	}
	return r
}
