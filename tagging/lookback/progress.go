package lookback

import (
	"fmt"

	"netreel/tagging"
	"netreel/tagging/compare"
	"netreel/tagging/find"
	"netreel/tagging/measure"
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
	Outcome Outcome          // of a rate
	Measure *measure.Measure // of a mean; nil for a rate
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
	Measured            Measured
	Point               compare.ChartPoint
}

// FollowMeasure makes a progress of the mean of a measure: the chart of rates
// stays empty.
func FollowMeasure(e vocabulary.Edition, player int64, visits []Visit, m measure.Measure) Progress {
	p := Progress{Measure: &m}
	var series []float64
	var all []Ball
	for _, v := range visits {
		s := v.set(player)
		step := v.step()
		step.Measured = s.measured(m)
		if mean := step.Measured.Mean; step.Measured.Balls.N > 0 && (mean.Known() || mean.Gap == compare.OneBall) {
			series = append(series, s.readingMean(m))
		}
		p.Visits = append(p.Visits, step)
		all = append(all, v.Balls...)
	}
	p.Trend, p.Shift = compare.MannKendall(series), compare.Pettitt(series)
	p.Feeds = NewSet(find.Question{Players: []int64{player}}, all, 0).side(e).Feeds
	p.Words = p.words(len(series), 1, string(m.Unit))
	return p
}

// Follow makes a progress of a player's sessions, oldest first, each as whoever
// coded most of it saw it.
func Follow(e vocabulary.Edition, player int64, visits []Visit, o Outcome) Progress {
	p := Progress{Outcome: o}
	rates := make([]compare.Rate, len(visits))
	var series []float64
	var all []Ball
	for i, v := range visits {
		step := v.step()
		step.Rate = v.set(player).rate(e, o)
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
	p.Words = p.words(len(series), 100, "in 100")
	return p
}

func (v Visit) set(player int64) Set {
	return NewSet(find.Question{Sessions: []int64{v.Session}, Players: []int64{player}}, v.Balls, mainCoder(v.Balls))
}

func (v Visit) step() Step {
	s := Step{Session: v.Session, Title: v.Title, HeldOn: v.HeldOn, Note: v.Note}
	for _, b := range v.Blocks {
		s.Blocks = append(s.Blocks, b.Name)
	}
	return s
}

// words says what the series comes to; scale and unit are those of its slope.
// A trend does not say what caused it.
func (p Progress) words(sessions int, scale float64, unit string) string {
	outside := 0
	for _, v := range p.Visits {
		if v.Point.Outside {
			outside++
		}
	}
	text := ""
	switch {
	case sessions == 0:
		return "Nothing to follow yet: code or measure balls of this player first."
	case sessions == 1:
		text = "One session: nothing to hold it against yet."
	case !p.Trend.Chance.Known():
		text = fmt.Sprintf("%d sessions: too few to tell a trend; it takes %d.", sessions, compare.FewestPoints)
		if p.Trend.Chance.Gap == compare.AllAlike {
			text = "Every session is the same."
		}
	case p.Trend.Chance.Value < 1-compare.Level && p.Trend.S > 0:
		text = fmt.Sprintf("Rising, by about %.2g %s from session to session; unlikely to be chance.", scale*p.Trend.Slope.Value, unit)
	case p.Trend.Chance.Value < 1-compare.Level:
		text = fmt.Sprintf("Falling, by about %.2g %s from session to session; unlikely to be chance.", -scale*p.Trend.Slope.Value, unit)
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
