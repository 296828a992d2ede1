package api

import (
	"maps"
	"time"

	"netreel/tagging"
	"netreel/tagging/find"
	"netreel/tagging/secondlook"
)

type wireSecondLook struct {
	ID         int64          `json:"id"`
	SessionID  int64          `json:"session_id"`
	FirstID    int64          `json:"first_id"`
	First      string         `json:"first"`
	SecondID   int64          `json:"second_id"`
	Second     string         `json:"second"`
	MadeBy     string         `json:"made_by"`
	Groups     []string       `json:"groups"`
	Spread     string         `json:"spread"`
	FirstCoded time.Time      `json:"first_coded"`
	Created    time.Time      `json:"created"`
	Finished   *time.Time     `json:"finished"`
	Done       int            `json:"done"`
	Count      int            `json:"count"`
	Balls      []wireLookBall `json:"balls"`
}

type wireLookBall struct {
	Ball wireBall      `json:"ball"`
	Seen tagging.Codes `json:"seen"` // what the second coder saw
	Done bool          `json:"done"`
}

func toSecondLook(k tagging.SecondLook) wireSecondLook {
	return wireSecondLook{ID: k.ID, SessionID: k.SessionID, FirstID: k.FirstID, First: k.First, SecondID: k.SecondID, Second: k.Second,
		MadeBy: k.MadeBy, Groups: append([]string{}, k.Groups...), Spread: k.Spread, FirstCoded: k.FirstCoded.UTC(),
		Created: k.Created.UTC(), Finished: k.Finished, Done: k.Done, Count: k.Count,
		Balls: each(k.Balls, func(b tagging.LookBall) wireLookBall {
			seen := tagging.Codes{}
			maps.Copy(seen, b.Second)
			return wireLookBall{ownLinks.ball(b.Ball), seen, b.Done}
		})}
}

type wireLookInput struct {
	FirstID  int64    `json:"first_id"`
	SecondID int64    `json:"second_id"`
	Groups   []string `json:"groups"`
	Spread   string   `json:"spread"`
	Balls    int      `json:"balls"`
}

func (in wireLookInput) input() tagging.LookInput { return tagging.LookInput(in) }

type wireLookAnswer struct {
	BallID int64         `json:"ball_id"`
	Seen   tagging.Codes `json:"seen"`
}

type wireFloor struct {
	Floor float64 `json:"floor"`
}

type wireAgreement struct {
	Floor  float64      `json:"floor"`
	Gap    string       `json:"gap"`
	Groups []wireAgreed `json:"groups"`
}

// wireAgreed is one group. Every count is a cell whose question finds its
// balls.
type wireAgreed struct {
	Key           string           `json:"key"`
	Name          string           `json:"name"`
	Many          bool             `json:"many"`
	Text          string           `json:"text"`
	Alike         wireEstimate     `json:"alike"`
	Kappa         wireEstimate     `json:"kappa"`
	AC            wireEstimate     `json:"ac"`
	KappaWeighted *wireEstimate    `json:"kappa_weighted"`
	ACWeighted    *wireEstimate    `json:"ac_weighted"`
	Names         []string         `json:"names"`
	Cells         [][]wireTally    `json:"cells"`
	OnlyFirst     wireTally        `json:"only_first"`
	OnlySecond    wireTally        `json:"only_second"`
	Neither       wireTally        `json:"neither"`
	Terms         []wireAgreedTerm `json:"terms"`
}

type wireAgreedTerm struct {
	Key      string       `json:"key"`
	Name     string       `json:"name"`
	Trust    string       `json:"trust"`
	Of       int          `json:"of"`
	InBoth   wireTally    `json:"in_both"`
	InFirst  wireTally    `json:"in_first"`
	InSecond wireTally    `json:"in_second"`
	Alike    wireEstimate `json:"alike"`
	Kappa    wireEstimate `json:"kappa"`
	AC       wireEstimate `json:"ac"`
}

func toAgreed(g secondlook.Group) wireAgreed {
	w := wireAgreed{Key: g.Key, Name: g.Name, Many: g.Many, Text: g.Text(), Alike: toEstimate(g.Alike.Share()),
		Kappa: toEstimate(g.Kappa), AC: toEstimate(g.AC), Names: append([]string{}, g.Names...),
		Cells:     each(g.Cells, func(row [][]int64) []wireTally { return each(row, ballsCell) }),
		OnlyFirst: ballsCell(g.OnlyFirst), OnlySecond: ballsCell(g.OnlySecond), Neither: ballsCell(g.Neither),
		Terms: each(g.Terms, func(t secondlook.Term) wireAgreedTerm {
			return wireAgreedTerm{t.Term, t.Name, string(t.Trust), t.Of, ballsCell(t.InBoth), ballsCell(t.InFirst), ballsCell(t.InSecond),
				toEstimate(t.Alike), toEstimate(t.Kappa), toEstimate(t.AC)}
		})}
	if g.Ordered && !g.Many {
		kappa, ac := toEstimate(g.KappaWeighted), toEstimate(g.ACWeighted)
		w.KappaWeighted, w.ACWeighted = &kappa, &ac
	}
	return w
}

// ballsCell counts balls and asks for them; no balls are asked for by nothing.
func ballsCell(ids []int64) wireTally {
	if len(ids) == 0 {
		return wireTally{}
	}
	return wireTally{len(ids), find.Question{Balls: ids}.String()}
}
