package lookback

import (
	"fmt"

	"netreel/tagging"
	"netreel/tagging/compare"
	"netreel/tagging/find"
	"netreel/tagging/vocabulary"
)

// Visit is a player's part in one session, with what may explain it.
type Visit struct {
	Session             int64
	Title, HeldOn, Note string
	Blocks              []tagging.Block
	Balls               []Ball
}

// Progress is an outcome over a player's sessions, in their order.
type Progress struct {
	Outcome Outcome
	Visits  []Step
	Feeds   []Feed // of all sessions together
	Chart   compare.Chart
	Trend   compare.Trend  // of the rates of sessions with any ball that counts
	Shift   compare.Change // indices are of those sessions
	Words   string
}

// Step is one session on the way.
type Step struct {
	Session             int64
	Title, HeldOn, Note string
	Blocks              []string // names
	Rate                Rate
	Point               compare.ChartPoint
}

// Follow makes a progress of a player's sessions, oldest first, each as whoever
// coded most of it saw it.
func Follow(e vocabulary.Edition, player int64, visits []Visit, o Outcome) Progress {
	p := Progress{Outcome: o}
	rates := make([]compare.Rate, len(visits))
	var series []float64
	var all []Ball
	for i, v := range visits {
		s := NewSet(find.Question{Sessions: []int64{v.Session}, Players: []int64{player}}, v.Balls, mainCoder(v.Balls))
		step := Step{Session: v.Session, Title: v.Title, HeldOn: v.HeldOn, Note: v.Note, Rate: s.rate(e, o)}
		for _, b := range v.Blocks {
			step.Blocks = append(step.Blocks, b.Name)
		}
		rates[i] = step.Rate.Plain()
		if step.Rate.Share.Known() {
			series = append(series, step.Rate.Share.Value)
		}
		p.Visits = append(p.Visits, step)
		all = append(all, v.Balls...)
	}
	p.Chart = compare.PChart(rates)
	for i := range p.Visits {
		p.Visits[i].Point = p.Chart.Points[i]
	}
	p.Trend, p.Shift = compare.MannKendall(series), compare.Pettitt(series)
	p.Feeds = NewSet(find.Question{Players: []int64{player}}, all, 0).side(e).Feeds
	p.Words = p.words(len(series))
	return p
}

// words says what the series comes to. A trend does not say what caused it.
func (p Progress) words(sessions int) string {
	outside := 0
	for _, v := range p.Visits {
		if v.Point.Outside {
			outside++
		}
	}
	text := ""
	switch {
	case sessions == 0:
		return "Nothing to follow yet: code balls of this player first."
	case sessions == 1:
		text = "One session: nothing to hold it against yet."
	case !p.Trend.Chance.Known():
		text = fmt.Sprintf("%d sessions: too few to tell a trend; it takes %d.", sessions, compare.FewestPoints)
		if p.Trend.Chance.Gap == compare.AllAlike {
			text = "Every session is the same."
		}
	case p.Trend.Chance.Value < 1-compare.Level && p.Trend.S > 0:
		text = fmt.Sprintf("Rising, by about %.0f in 100 from session to session; unlikely to be chance.", 100*p.Trend.Slope.Value)
	case p.Trend.Chance.Value < 1-compare.Level:
		text = fmt.Sprintf("Falling, by about %.0f in 100 from session to session; unlikely to be chance.", -100*p.Trend.Slope.Value)
	default:
		text = "No trend that chance would not explain."
	}
	if outside == 1 {
		text += " One session lies outside its limits: worth a look."
	} else if outside > 1 {
		text += fmt.Sprintf(" %d sessions lie outside their limits: worth a look.", outside)
	}
	return text
}
