package api

import (
	"time"

	"github.com/google/uuid"

	"netreel/media"
	"netreel/tagging"
	"netreel/tagging/plan"
)

type wirePlanInput struct {
	Title    string       `json:"title"`
	PlayerID *int64       `json:"player_id"`
	Minutes  int          `json:"minutes"`
	WorkOn   []string     `json:"work_on"`
	Note     string       `json:"note"`
	Helmets  bool         `json:"helmets"`
	Blocks   []plan.Block `json:"blocks"`
	Revision int          `json:"revision"`
}

func (p wirePlanInput) plan(id int64) plan.Plan {
	return plan.Plan{ID: id, Title: p.Title, PlayerID: orZero(p.PlayerID), Minutes: p.Minutes, WorkOn: p.WorkOn, Note: p.Note,
		Helmets: p.Helmets, Blocks: p.Blocks, Revision: p.Revision}
}

type wirePlan struct {
	ID int64 `json:"id"`
	wirePlanInput
	SessionID *int64      `json:"session_id"`
	MadeBy    string      `json:"made_by"`
	Updated   time.Time   `json:"updated"`
	Balls     int         `json:"balls"`
	Seconds   float64     `json:"seconds"`
	Warnings  []string    `json:"warnings"`
	UpperBody []string    `json:"upper_body"`
	Facts     []wireFacts `json:"facts"` // of each block
}

func toPlan(p plan.Plan) wirePlan {
	sum := p.Budget()
	return wirePlan{ID: p.ID, SessionID: orNull(p.SessionID), MadeBy: p.MadeBy, Updated: p.Updated.UTC(), Balls: sum.Balls, Seconds: sum.Seconds,
		Warnings: append([]string{}, p.Warnings()...), UpperBody: append([]string{}, p.UpperBody()...), Facts: each(p.Blocks, toFacts),
		wirePlanInput: wirePlanInput{Title: p.Title, PlayerID: orNull(p.PlayerID), Minutes: p.Minutes, WorkOn: append([]string{}, p.WorkOn...),
			Note: p.Note, Helmets: p.Helmets, Blocks: append([]plan.Block{}, p.Blocks...), Revision: p.Revision}}
}

type wireFacts struct {
	SwitchRate float64 `json:"switch_rate"`
	Longest    int     `json:"longest"`
	Pairs      [][]int `json:"pairs"`
}

func toFacts(b plan.Block) wireFacts {
	f := plan.FactsOf(b.Sequence, len(b.Types))
	return wireFacts{f.SwitchRate, f.Longest, f.Pairs}
}

type wireDrawn struct {
	Block plan.Block `json:"block"`
	Facts wireFacts  `json:"facts"`
}

func toDrawn(b plan.Block) wireDrawn { return wireDrawn{b, toFacts(b)} }

type wireBecomes struct {
	SessionID *int64 `json:"session_id"`
	HeldOn    string `json:"held_on"`
	Place     string `json:"place"`
}

type wireCell struct {
	Term  string  `json:"term"`
	Name  string  `json:"name"`
	Balls int     `json:"balls"`
	Bad   int     `json:"bad"`
	Share float64 `json:"share"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
	Tells bool    `json:"tells"`
}

func toCell(c plan.Cell) wireCell {
	return wireCell{c.Term, c.Name, c.Balls, c.Bad, c.Share, c.Low, c.High, c.Tells}
}

type wireProposal struct {
	BallID int64  `json:"ball_id"`
	Group  string `json:"group"`
	Term   string `json:"term"`
	From   string `json:"from"`
}

type wireStint struct {
	Day      string   `json:"day"`
	Doing    string   `json:"doing"`
	Person   string   `json:"person"`
	Feed     string   `json:"feed"`
	Bowling  string   `json:"bowling"`
	SpeedKPH *float64 `json:"speed_kph"`
	Slowest  *float64 `json:"slowest_kph"`
	Fastest  *float64 `json:"fastest_kph"`
	SpeedBy  string   `json:"speed_by"`
	Balls    int      `json:"balls"`
	Counted  string   `json:"counted"`
}

func toStint(s plan.Stint) wireStint {
	return wireStint{s.Day, string(s.Doing), s.Person, s.Feed, s.Bowling, orNull(s.SpeedKPH), orNull(s.Slowest), orNull(s.Fastest), string(s.SpeedBy), s.Balls, s.Counted}
}

type wireSum struct {
	Day   string `json:"day"`
	Balls int    `json:"balls"`
	Last7 int    `json:"last_7"`
}

func toSum(s plan.Sum) wireSum { return wireSum(s) }

type wireLimit struct {
	ID     int64  `json:"id"`
	Doing  string `json:"doing"`
	Person string `json:"person"`
	Feed   string `json:"feed"`
	Days   int    `json:"days"`
	Balls  int    `json:"balls"`
	Words  string `json:"words"`
}

func toLimit(l plan.Limit) wireLimit {
	return wireLimit{l.ID, string(l.Doing), l.Person, l.Feed, l.Days, l.Balls, l.Words}
}

func (l wireLimit) limit() plan.Limit {
	return plan.Limit{Doing: plan.Doing(l.Doing), Person: l.Person, Feed: l.Feed, Days: l.Days, Balls: l.Balls, Words: l.Words}
}

type wireCrossing struct {
	Limit  wireLimit `json:"limit"`
	Person string    `json:"person"`
	Day    string    `json:"day"`
	Balls  int       `json:"balls"`
}

func toCrossing(c plan.Crossing) wireCrossing {
	return wireCrossing{toLimit(c.Limit), c.Person, c.Day, c.Balls}
}

type wireLoad struct {
	From      string         `json:"from"`
	To        string         `json:"to"`
	Stints    []wireStint    `json:"stints"`
	Days      []wireSum      `json:"days"`
	Limits    []wireLimit    `json:"limits"`
	Crossings []wireCrossing `json:"crossings"`
}

type wireNow struct {
	Now int64 `json:"now_ms"`
}

type wireMarkInput struct {
	UUID    uuid.UUID  `json:"uuid"`
	Kind    string     `json:"kind"`
	Made    int64      `json:"made_ms"` // since 1970, UTC
	DoubtMS int        `json:"doubt_ms"`
	Block   *int       `json:"block"`
	Ball    *int       `json:"ball"`
	Group   string     `json:"group"`
	Term    string     `json:"term"`
	Body    string     `json:"body"`
	Undoes  *uuid.UUID `json:"undoes"`
}

func (m wireMarkInput) mark() tagging.Mark {
	return tagging.Mark{UUID: m.UUID, Kind: tagging.MarkKind(m.Kind), Made: time.UnixMilli(m.Made), Doubt: time.Duration(m.DoubtMS) * time.Millisecond,
		Block: m.Block, Ball: m.Ball, Group: m.Group, Term: m.Term, Body: m.Body, Undoes: orZero(m.Undoes)}
}

type wireNetSession struct {
	UUID   uuid.UUID `json:"uuid"`
	Title  string    `json:"title"`
	HeldOn string    `json:"held_on"`
	PlanID *int64    `json:"plan_id"`
}

type wireNetBatch struct {
	SessionID *int64          `json:"session_id"`
	New       *wireNetSession `json:"new"`
	Marks     []wireMarkInput `json:"marks"`
}

func (b wireNetBatch) batch() tagging.NetBatch {
	out := tagging.NetBatch{SessionID: orZero(b.SessionID), Marks: each(b.Marks, wireMarkInput.mark)}
	if b.New != nil {
		out.New = &tagging.NetSession{UUID: b.New.UUID, Title: b.New.Title, HeldOn: b.New.HeldOn, PlanID: orZero(b.New.PlanID)}
	}
	return out
}

type wireTaken struct {
	SessionID int64 `json:"session_id"`
}

type wireZero struct {
	At *time.Time `json:"zero_at"`
	By string     `json:"by"`
}

func toZero(z tagging.Zero) wireZero {
	out := wireZero{By: string(z.By)}
	if z.At != nil {
		at := z.At.UTC()
		out.At = &at
	}
	return out
}

type wireMark struct {
	UUID    uuid.UUID     `json:"uuid"`
	Who     string        `json:"who"`
	Kind    string        `json:"kind"`
	Made    time.Time     `json:"made"`
	DoubtMS int64         `json:"doubt_ms"`
	Block   *int          `json:"block"`
	Ball    *int          `json:"ball"`
	Group   string        `json:"group"`
	Term    string        `json:"term"`
	Body    string        `json:"body"`
	At      *media.Micros `json:"at_us"`
	BallID  *int64        `json:"ball_id"`
}

func toMark(m tagging.Mark) wireMark {
	return wireMark{m.UUID, m.Who, string(m.Kind), m.Made.UTC(), m.Doubt.Milliseconds(), m.Block, m.Ball, m.Group, m.Term, m.Body, m.At, orNull(m.BallID)}
}

type wireNet struct {
	Zero   wireZero   `json:"zero"`
	Chosen bool       `json:"chosen"`
	Ways   []wireZero `json:"ways"`
	Marks  []wireMark `json:"marks"`
}

func toNet(n tagging.Net) wireNet {
	return wireNet{toZero(n.Zero), n.Chosen, each(n.Ways, toZero), each(n.Marks, toMark)}
}
