package api

import (
	"netreel/tagging/compare"
	"netreel/tagging/lookback"
)

type wireLookback struct {
	Coder      int64           `json:"coder"`
	Coders     []wireCoder     `json:"coders"`
	HasRules   bool            `json:"has_rules"`
	Overall    wirePart        `json:"overall"`
	Blocks     []wirePart      `json:"blocks"`
	Missing    []string        `json:"missing"`
	Decisions  wireDecisions   `json:"decisions"`
	Crosses    []wireCross     `json:"crosses"`
	Pitch      wirePitch       `json:"pitch"`
	Places     []wirePlace     `json:"places"`
	Forms      []wireForm      `json:"forms"`
	Challenges []wireChallenge `json:"challenges"`
	Felt       wireFeltTable   `json:"felt"`
}

type wireCoder struct {
	ID    int64  `json:"id"`
	Name  string `json:"name"`
	Balls int    `json:"balls"`
}

type wirePart struct {
	Block  *wireBlock `json:"block"`
	Balls  wireTally  `json:"balls"`
	Coded  wireTally  `json:"coded"`
	Left   wireTally  `json:"left"`
	Evaded wireTally  `json:"evaded"`
	Feeds  []wireFeed `json:"feeds"`
	Rates  []wireRate `json:"rates"`

	Measures []wireMean `json:"measures"`
}

func toPart(p lookback.Part) wirePart {
	w := wirePart{Balls: toTally(p.Balls), Coded: toTally(p.Coded), Left: toTally(p.Left), Evaded: toTally(p.Evade), Feeds: each(p.Feeds, toFeed), Rates: each(p.Rates, toRate),
		Measures: each(p.Measures, toMean)}
	if p.Block != nil {
		b := toBlock(*p.Block)
		w.Block = &b
	}
	return w
}

type wireDecisions struct {
	Columns []wireColumn      `json:"columns"`
	Rows    []wireDecisionRow `json:"rows"`
	Unsaid  wireTally         `json:"unsaid"`
}

type wireDecisionRow struct {
	wireColumn
	Cells []wireDecisionCell `json:"cells"`
	Total wireTally          `json:"total"`
}

type wireDecisionCell struct {
	wireTally
	Right wireTally `json:"right"`
	Wrong wireTally `json:"wrong"`
}

func toDecisionRow(r lookback.DecisionRow) wireDecisionRow {
	return wireDecisionRow{wireColumn{r.Term, r.Name}, each(r.Cells, func(c lookback.DecisionCell) wireDecisionCell {
		return wireDecisionCell{toTally(c.Cell), toTally(c.Right), toTally(c.Wrong)}
	}), toTally(r.Total)}
}

type wireCross struct {
	Group   string         `json:"group"`
	Name    string         `json:"name"`
	Many    bool           `json:"many"`
	Columns []wireColumn   `json:"columns"`
	Rows    []wireCrossRow `json:"rows"`
	Unsaid  wireTally      `json:"unsaid"`
}

type wireCrossRow struct {
	wireColumn
	Cells   []wireTally `json:"cells"`
	Total   wireTally   `json:"total"`
	Badly   wireRate    `json:"badly"`
	Against wireVerdict `json:"against"`
}

func toCross(c lookback.Cross) wireCross {
	return wireCross{c.Group, c.Name, c.Many, each(c.Columns, toColumn), each(c.Rows, func(r lookback.CrossRow) wireCrossRow {
		return wireCrossRow{wireColumn{r.Term, r.Name}, each(r.Cells, toTally), toTally(r.Total), toRate(r.Badly), toVerdict(r.Against)}
	}), toTally(c.Unsaid)}
}

// wirePitch has the pitch in metres as the Laws print them: from the middle
// stump's foot, along the pitch and to the off side.
type wirePitch struct {
	Columns []wireColumn    `json:"columns"`
	Cells   []wirePitchCell `json:"cells"`
	Unsaid  wireTally       `json:"unsaid"`
	Lengths []wireScheme    `json:"lengths"`
	Lines   wireScheme      `json:"lines"`
	Ground  wireGround      `json:"ground"`
}

type wireGround struct {
	Laws          string  `json:"laws"`
	PitchWidth    float64 `json:"pitch_width_m"`
	BowlingCrease float64 `json:"bowling_crease_m"`
	PoppingCrease float64 `json:"popping_crease_m"`
	ReturnHalfGap float64 `json:"return_half_gap_m"`
	WicketWidth   float64 `json:"wicket_width_m"`
}

type wirePitchCell struct {
	Length string      `json:"length"`
	Line   string      `json:"line"`
	Name   string      `json:"name"`
	Total  wireTally   `json:"total"`
	By     []wireTally `json:"by"`
}

type wireScheme struct {
	Key    string     `json:"key"`
	Name   string     `json:"name"`
	Source string     `json:"source"`
	Zones  []wireZone `json:"zones"`
}

type wireZone struct {
	Term string  `json:"term"`
	From float64 `json:"from_m"`
	To   float64 `json:"to_m"`
}

func toScheme(s lookback.Scheme) wireScheme {
	return wireScheme{s.Key, s.Name, s.Source, each(s.Zones, func(z lookback.Zone) wireZone { return wireZone(z) })}
}

func toPitch(p lookback.PitchMap) wirePitch {
	return wirePitch{
		each(p.Columns, toColumn),
		each(p.Cells, func(c lookback.PitchCell) wirePitchCell {
			return wirePitchCell{c.Length, c.Line, c.Name, toTally(c.Total), each(c.By, toTally)}
		}),
		toTally(p.Unsaid), each(lookback.LengthSchemes(), toScheme), toScheme(lookback.Lines()),
		wireGround{p.Laws.Name, p.Laws.PitchWidth, p.Laws.BowlingCrease, p.Laws.PoppingFromBowling, p.Laws.ReturnHalfGap, p.Laws.WicketWidth},
	}
}

type wirePlace struct {
	wireColumn
	From    float64   `json:"from_deg"`
	To      float64   `json:"to_deg"`
	Total   wireTally `json:"total"`
	Middled wireTally `json:"middled"`
	Scored  wireTally `json:"scored"`
}

func toPlace(p lookback.Place) wirePlace {
	return wirePlace{wireColumn{p.Term, p.Name}, p.From, p.To, toTally(p.Total), toTally(p.Middled), toTally(p.Scored)}
}

type wireForm struct {
	BlockID int64           `json:"block_id"`
	Name    string          `json:"name"`
	Window  int             `json:"window"`
	Balls   []wireFormBall  `json:"balls"`
	Points  []wireFormPoint `json:"points"`
}

type wireFormBall struct {
	Number    int  `json:"number"`
	InControl bool `json:"in_control"`
	wireTally
}

type wireFormPoint struct {
	Ball    int     `json:"ball"`
	Hits    int     `json:"hits"`
	Value   float64 `json:"value"`
	Low     float64 `json:"low"`
	High    float64 `json:"high"`
	Outside bool    `json:"outside"`
}

func toForm(f lookback.Form) wireForm {
	return wireForm{
		f.Block, f.Name, lookback.Window,
		each(f.Balls, func(b lookback.FormBall) wireFormBall { return wireFormBall{b.Number, b.InControl, toTally(b.Cell)} }),
		each(f.Points, func(p compare.FormPoint) wireFormPoint {
			return wireFormPoint{p.Ball, p.Rate.Hits, p.Value, p.Low, p.High, p.Outside}
		}),
	}
}

type wireChallenge struct {
	Block     wireBlock      `json:"block"`
	Balls     []wireCardBall `json:"balls"`
	Effective wireRate       `json:"effective"`
	Best      wireTally      `json:"best"`
	Now       int            `json:"now"`
	Open      wireTally      `json:"open"`
	Earlier   []wirePast     `json:"earlier"`
}

type wireCardBall struct {
	Number int    `json:"number"`
	State  string `json:"state"`
	wireTally
}

type wirePast struct {
	Session   int64    `json:"session"`
	Title     string   `json:"title"`
	HeldOn    string   `json:"held_on"`
	Name      string   `json:"name"`
	Effective wireRate `json:"effective"`
	Best      int      `json:"best"`
}

func toChallenge(c lookback.Card) wireChallenge {
	return wireChallenge{
		toBlock(c.Block),
		each(c.Balls, func(b lookback.CardBall) wireCardBall {
			return wireCardBall{b.Number, string(b.State), toTally(b.Cell)}
		}),
		toRate(c.Effective), toTally(c.Best), c.Now, toTally(c.Open),
		each(c.Earlier, func(p lookback.Past) wirePast {
			return wirePast{p.Session, p.Title, p.HeldOn, p.Name, toRate(p.Effective), p.Best}
		}),
	}
}

type wireFeltTable struct {
	Said   wireTally       `json:"said"`
	Rows   []wireFeltRow   `json:"rows"`
	Blocks []wireFeltBlock `json:"blocks"`
}

type wireFeltRow struct {
	wireColumn
	Seen  string       `json:"seen"`
	Both  wireTally    `json:"both"`
	Only  wireTally    `json:"only_felt"`
	Other wireTally    `json:"only_seen"`
	None  wireTally    `json:"neither"`
	Alike wireEstimate `json:"alike"`
	Kappa wireEstimate `json:"kappa"`
}

type wireFeltBlock struct {
	BlockID int64    `json:"block_id"`
	Name    string   `json:"name"`
	Words   []string `json:"words"`
}

func toFeltTable(t lookback.FeltTable) wireFeltTable {
	return wireFeltTable{
		toTally(t.Said),
		each(t.Rows, func(r lookback.FeltRow) wireFeltRow {
			return wireFeltRow{wireColumn{r.Key, r.Name}, r.Seen, toTally(r.Both), toTally(r.Only), toTally(r.Other), toTally(r.None),
				toEstimate(r.Agreement.Alike), toEstimate(r.Agreement.Kappa)}
		}),
		each(t.Blocks, func(b lookback.FeltBlock) wireFeltBlock {
			return wireFeltBlock{b.Block, b.Name, append([]string{}, b.Words...)}
		}),
	}
}

func toLookback(of lookback.Session, l lookback.Lookback) wireLookback {
	return wireLookback{
		of.Coder, each(of.Coders, func(c lookback.Coder) wireCoder { return wireCoder(c) }), len(of.Rules) > 0,
		toPart(l.Overall), each(l.Blocks, toPart), append([]string{}, l.Missing...),
		wireDecisions{each(l.Decisions.Columns, toColumn), each(l.Decisions.Rows, toDecisionRow), toTally(l.Decisions.Unsaid)},
		each(l.Crosses, toCross), toPitch(l.Pitch), each(l.Places, toPlace), each(l.Forms, toForm), each(l.Challenges, toChallenge),
		toFeltTable(l.Felt),
	}
}
