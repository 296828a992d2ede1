package api

import (
	"github.com/google/uuid"

	"netreel/tagging/compare"
	"netreel/tagging/lookback"
)

type wireTally struct {
	N        int    `json:"n"`
	Question string `json:"question"`
}

func toTally(c lookback.Cell) wireTally { return wireTally(c) }

// wireFigure is a number that there may not be: then the gap says why.
type wireFigure struct {
	Value float64 `json:"value"`
	Gap   string  `json:"gap"`
}

func toFigure(f compare.Figure) wireFigure { return wireFigure{f.Value, f.Gap.String()} }

type wireEstimate struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
	Gap   string  `json:"gap"`
}

func toEstimate(e compare.Estimate) wireEstimate {
	return wireEstimate{e.Value, e.Low, e.High, e.Gap.String()}
}

type wireOutcome struct {
	Key   string `json:"key"`
	Name  string `json:"name"`
	Means string `json:"means"`
}

func toOutcome(o lookback.Outcome) wireOutcome { return wireOutcome{o.Key, o.Name, o.Means} }

type wireRate struct {
	wireOutcome
	Hits     wireTally    `json:"hits"`
	Of       wireTally    `json:"of"`
	Disputed wireTally    `json:"disputed"`
	Share    wireEstimate `json:"share"`
}

func toRate(r lookback.Rate) wireRate {
	return wireRate{wireOutcome{r.Key, r.Name, r.Means}, toTally(r.Hits), toTally(r.Of), toTally(r.Disputed), toEstimate(r.Share)}
}

type wireVerdict struct {
	Finding string `json:"finding"`
	Text    string `json:"text"`
}

func toVerdict(v compare.Verdict) wireVerdict { return wireVerdict{string(v.Finding), v.Text} }

type wireColumn struct {
	Key  string `json:"key"`
	Name string `json:"name"`
}

func toColumn(c lookback.Column) wireColumn { return wireColumn(c) }

type wireRule struct {
	Heights []string `json:"heights"`
	Lines   []string `json:"lines"`
	Lengths []string `json:"lengths"`
	Want    string   `json:"want"`
}

type wireRules struct {
	Rules    []wireRule `json:"rules"`
	Revision int        `json:"revision"`
	Usual    []wireRule `json:"usual"`
}

type wireRulesInput struct {
	Rules    []wireRule `json:"rules"`
	Revision int        `json:"revision"`
}

func toRule(r lookback.Rule) wireRule {
	same := func(key string) string { return key }
	return wireRule{each(r.Heights, same), each(r.Lines, same), each(r.Lengths, same), string(r.Want)}
}

func toRules(list lookback.Rules, revision int) wireRules {
	return wireRules{each(list, toRule), revision, each(lookback.UsualRules(), toRule)}
}

func (in wireRulesInput) rules() lookback.Rules {
	return each(in.Rules, func(r wireRule) lookback.Rule {
		return lookback.Rule{Heights: r.Heights, Lines: r.Lines, Lengths: r.Lengths, Want: lookback.Want(r.Want)}
	})
}

type wireFelt struct {
	Words []wireColumn `json:"words"`
	Said  []wireSaid   `json:"said"`
}

type wireSaid struct {
	BallID  *int64   `json:"ball_id"`
	BlockID *int64   `json:"block_id"`
	Words   []string `json:"words"`
	By      string   `json:"by"`
	AtNet   bool     `json:"at_net"`
}

func toFelt(said []lookback.Felt) wireFelt {
	return wireFelt{
		each(lookback.FeltWords(), func(w lookback.FeltWord) wireColumn { return wireColumn{w.Key, w.Name} }),
		each(said, func(f lookback.Felt) wireSaid {
			return wireSaid{orNull(f.Ball), orNull(f.Block), append([]string{}, f.Words...), f.By, f.AtNet}
		}),
	}
}

type wireFeltEntry struct {
	UUID    uuid.UUID `json:"uuid"`
	BallID  *int64    `json:"ball_id"`
	BlockID *int64    `json:"block_id"`
	Words   []string  `json:"words"`
}

// wireMean is what was measured on some balls, in a unit.
type wireMean struct {
	Key    string       `json:"key"`
	Name   string       `json:"name"`
	Unit   string       `json:"unit"`
	Digits int          `json:"digits"`
	Balls  wireTally    `json:"balls"`
	Mean   wireEstimate `json:"mean"`
}

func toMean(m lookback.Measured) wireMean {
	return wireMean{m.Measure.Key, m.Measure.Name, string(m.Measure.Unit), lookback.Digits(m.Measure), toTally(m.Balls), toEstimate(m.Mean)}
}

type wireMeansCompared struct {
	Left       wireMean      `json:"left"`
	Right      wireMean      `json:"right"`
	Verdict    wireVerdict   `json:"verdict"`
	Difference wireEstimate  `json:"difference"`
	Chance     wireFigure    `json:"chance"`
	Adjusted   wireFigure    `json:"adjusted"`
	Among      int           `json:"among"`
	Sessions   wireClustered `json:"sessions"`
}

func toMeansCompared(m lookback.MeasureComparison) wireMeansCompared {
	f := m.Figures
	return wireMeansCompared{toMean(m.Left), toMean(m.Right), toVerdict(m.Verdict), toEstimate(f.Difference), toFigure(f.Chance),
		toFigure(f.Adjusted), f.Among, wireClustered{toEstimate(f.Sessions.Difference), f.Sessions.Rough}}
}

type wireComparison struct {
	Left     wireSide              `json:"left"`
	Right    wireSide              `json:"right"`
	Shared   wireTally             `json:"shared"`
	Warnings []string              `json:"warnings"`
	Outcomes []wireOutcomeCompared `json:"outcomes"`
	Measures []wireMeansCompared   `json:"measures"`
}

type wireSide struct {
	Balls    wireTally  `json:"balls"`
	Sessions int        `json:"sessions"`
	Feeds    []wireFeed `json:"feeds"`
}

type wireFeed struct {
	Name string `json:"name"`
	wireTally
}

func toFeed(f lookback.Feed) wireFeed { return wireFeed{f.Name, toTally(f.Cell)} }

func toSide(s lookback.Side) wireSide {
	return wireSide{toTally(s.Balls), s.Sessions, each(s.Feeds, toFeed)}
}

type wireOutcomeCompared struct {
	Left       wireRate        `json:"left"`
	Right      wireRate        `json:"right"`
	Verdict    wireVerdict     `json:"verdict"`
	Difference wireEstimate    `json:"difference"`
	OddsRatio  wireEstimate    `json:"odds_ratio"`
	Chance     wireFigure      `json:"chance"`
	Adjusted   wireFigure      `json:"adjusted"`
	Among      int             `json:"among"`
	Needed     wireFigure      `json:"needed"`
	Sessions   wireClustered   `json:"sessions"`
	Feeds      []wireFeedRates `json:"feeds"`
}

// wireClustered is the difference by a bootstrap over sessions.
type wireClustered struct {
	Difference wireEstimate `json:"difference"`
	Rough      bool         `json:"rough"`
}

type wireFeedRates struct {
	Feed       string       `json:"feed"`
	Left       wireCount    `json:"left"`
	Right      wireCount    `json:"right"`
	Difference wireEstimate `json:"difference"`
	Chance     wireFigure   `json:"chance"`
}

type wireCount struct {
	Hits int `json:"hits"`
	Of   int `json:"of"`
}

func toComparison(c lookback.Comparison) wireComparison {
	return wireComparison{
		toSide(c.Left), toSide(c.Right), toTally(c.Shared), append([]string{}, c.Warnings...),
		each(c.Outcomes, func(o lookback.OutcomeComparison) wireOutcomeCompared {
			f := o.Figures
			return wireOutcomeCompared{
				toRate(o.Left), toRate(o.Right), toVerdict(o.Verdict), toEstimate(f.Difference), toEstimate(f.OddsRatio),
				toFigure(f.Chance), toFigure(f.Adjusted), f.Among, toFigure(f.Needed),
				wireClustered{toEstimate(f.Sessions.Difference), f.Sessions.Rough},
				each(f.Feeds, func(r compare.FeedRates) wireFeedRates {
					return wireFeedRates{r.Feed, wireCount(r.A), wireCount(r.B), toEstimate(r.Difference), toFigure(r.Chance)}
				}),
			}
		}),
		each(c.Measures, toMeansCompared),
	}
}

type wireProgress struct {
	Outcome  wireOutcome   `json:"outcome"`
	Unit     string        `json:"unit"`
	Outcomes []wireOutcome `json:"outcomes"`
	Words    string        `json:"words"`
	Steps    []wireStep    `json:"steps"`
	Feeds    []wireFeed    `json:"feeds"`
	Centre   wireFigure    `json:"centre"`
	Chance   wireFigure    `json:"chance"`
	Slope    wireEstimate  `json:"slope"`
}

type wireStep struct {
	Session int64    `json:"session"`
	Title   string   `json:"title"`
	HeldOn  string   `json:"held_on"`
	Note    string   `json:"note"`
	Blocks  []string `json:"blocks"`
	Rate    wireRate `json:"rate"`
	Mean    wireMean `json:"mean"`
	Low     float64  `json:"low"`
	High    float64  `json:"high"`
	Outside bool     `json:"outside"`
}

func toProgress(p lookback.Progress, outcomes []lookback.Outcome) wireProgress {
	outcome, unit := toOutcome(p.Outcome), ""
	if p.Measure != nil {
		outcome, unit = wireOutcome{p.Measure.Key, p.Measure.Name, p.Measure.About}, string(p.Measure.Unit)
	}
	return wireProgress{
		outcome, unit, each(outcomes, toOutcome), p.Words,
		each(p.Visits, func(s lookback.Step) wireStep {
			return wireStep{s.Session, s.Title, s.HeldOn, s.Note, append([]string{}, s.Blocks...), toRate(s.Rate), toMean(s.Measured),
				s.Point.Low, s.Point.High, s.Point.Outside}
		}),
		each(p.Feeds, toFeed), toFigure(p.Chart.Centre), toFigure(p.Trend.Chance), toEstimate(p.Trend.Slope),
	}
}
