package api

import (
	"netreel/tagging/measure"
	"netreel/tagging/reading"
)

type wireYardsticks struct {
	NarrowBelow *float64 `json:"narrow_below_cm"`
	WideFrom    *float64 `json:"wide_from_cm"`
	BackBelow   *float64 `json:"back_below_cm"`
	ForwardFrom *float64 `json:"forward_from_cm"`
}

type wireBaseline struct {
	Balls int     `json:"balls"`
	Mean  float64 `json:"mean"`
	SD    float64 `json:"sd"`
}

func toBaseline(b measure.Baseline) wireBaseline { return wireBaseline(b) }

type wireSessionMean struct {
	SessionID int64  `json:"session_id"`
	HeldOn    string `json:"held_on"`
	Title     string `json:"title"`
	wireBaseline
}

type wireChange struct {
	Difference float64 `json:"difference"`
	Low        float64 `json:"low"`
	High       float64 `json:"high"`
}

type wireMeasureHistory struct {
	Measure  string            `json:"measure"`
	Name     string            `json:"name"`
	Unit     string            `json:"unit"`
	About    string            `json:"about"`
	All      wireBaseline      `json:"all"`
	Sessions []wireSessionMean `json:"sessions"`
	Before   wireBaseline      `json:"before"`
	Latest   wireBaseline      `json:"latest"`
	Change   *wireChange       `json:"change"`
}

// wireHistory is what is usual for a player.
type wireHistory struct {
	Measures   []wireMeasureHistory `json:"measures"`
	Yardsticks wireYardsticks       `json:"yardsticks"`
}

func toHistory(h reading.History) wireHistory {
	return wireHistory{
		Yardsticks: wireYardsticks(h.Yardsticks),
		Measures: each(h.Measures, func(m reading.MeasureHistory) wireMeasureHistory {
			known, _ := measure.Find(m.Measure)
			return wireMeasureHistory{
				Measure: m.Measure, Name: known.Name, Unit: string(known.Unit), About: known.About,
				All: toBaseline(m.All), Before: toBaseline(m.Before), Latest: toBaseline(m.Latest), Change: (*wireChange)(m.Change),
				Sessions: each(m.Sessions, func(s reading.SessionMean) wireSessionMean {
					return wireSessionMean{s.SessionID, s.HeldOn, s.Title, toBaseline(s.Baseline)}
				}),
			}
		}),
	}
}
