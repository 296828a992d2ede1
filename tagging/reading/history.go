package reading

import (
	"fmt"
	"slices"

	"netreel/tagging/compare"
	"netreel/tagging/measure"
)

// PlayerValue is an accepted value of a player.
type PlayerValue struct {
	Measure   string
	Value     float64
	SessionID int64
	HeldOn    string // ISO date
	Title     string // of the session
}

// History is what is usual for a player, and whether it changed. There is no
// norm in it: a player is compared with themselves.
type History struct {
	Measures   []MeasureHistory
	Yardsticks Yardsticks
}

// MeasureHistory is one measure of a player.
type MeasureHistory struct {
	Measure  string // its key
	All      measure.Baseline
	Sessions []SessionMean    // the oldest first
	Before   measure.Baseline // all sessions but the latest
	Latest   measure.Baseline
	Change   *Change // of the latest against those before; nil when there is too little
}

// Change is the mean of the latest session less that of those before, with
// Welch's 95 % interval. Balls of a session are not independent of each other,
// so the interval is rather too narrow.
type Change struct {
	Difference, Low, High float64
}

// SessionMean is a measure in one session.
type SessionMean struct {
	SessionID int64
	HeldOn    string
	Title     string
	measure.Baseline
}

// HistoryOf sums a player's values up, which come in the order of time.
func HistoryOf(values []PlayerValue) History {
	var h History
	for _, m := range measure.Measures() {
		var all []float64
		var sessions []SessionMean
		of := map[int64][]float64{}
		for _, v := range values {
			if v.Measure != m.Key {
				continue
			}
			all = append(all, v.Value)
			if _, known := of[v.SessionID]; !known {
				sessions = append(sessions, SessionMean{SessionID: v.SessionID, HeldOn: v.HeldOn, Title: v.Title})
			}
			of[v.SessionID] = append(of[v.SessionID], v.Value)
		}
		if len(all) == 0 {
			continue
		}
		for i := range sessions {
			sessions[i].Baseline = measure.BaselineOf(of[sessions[i].SessionID])
		}
		latest := of[sessions[len(sessions)-1].SessionID]
		before := all[:len(all)-len(latest)]
		// Sessions follow each other, so what is not the latest is what came before it.
		history := MeasureHistory{
			Measure: m.Key, All: measure.BaselineOf(all), Sessions: sessions,
			Before: measure.BaselineOf(before), Latest: measure.BaselineOf(latest),
		}
		if d, _ := compare.Welch(latest, before); d.Known() {
			history.Change = &Change{d.Value, d.Low, d.High}
		}
		h.Measures = append(h.Measures, history)
	}
	return h
}

// lookedOver are the measures by which a proposed reading is judged.
var lookedOver = []string{"base-width", "head-over-base", "front-knee", "back-knee"}

// oddScore is how much a thing that is hardly possible weighs beside those that
// measure.Doubts weighs: more than a value that only just jumps from its run.
const oddScore = 2

// Doubtful orders readings for who looks them over: those that a model proposed
// and that look wrong first, the worst of them at the head, each with the
// reasons; the others as they came. films has each recording's calibration,
// batters each player.
func Doubtful(list []Reading, films map[int64]*measure.Calibration, batters map[int64]measure.Batter) []Reading {
	var proposed []measure.Proposed
	for i, r := range list {
		if r.Status == Rejected {
			continue
		}
		run := fmt.Sprintf("%d %d %s", r.PlayerID, r.RecordingID, r.Block)
		for _, v := range r.Values {
			if !slices.Contains(lookedOver, v.Measure) {
				continue
			}
			proposed = append(proposed, measure.Proposed{
				Ball: int64(i), Run: run, Value: v, Seen: r.seen(), Crossed: measure.Crossed(films[r.RecordingID], r.sight(films[r.RecordingID])),
			})
		}
	}
	score := make([]float64, len(list))
	for _, d := range measure.Doubts(proposed) {
		r := &list[d.Ball]
		if r.Status != Proposed {
			continue
		}
		score[d.Ball] += d.Score
		for _, why := range d.Reasons {
			if !slices.Contains(r.Doubts, why) {
				r.Doubts = append(r.Doubts, why)
			}
		}
	}
	for i := range list {
		r := &list[i]
		if r.Status != Proposed {
			continue
		}
		odd := measure.Unlikely(films[r.RecordingID], batters[r.PlayerID], r.sight(films[r.RecordingID]))
		r.Doubts = append(r.Doubts, odd...)
		score[i] += oddScore * float64(len(odd))
		if len(r.Values) == 0 {
			r.Doubts = append(r.Doubts, "Nothing could be measured from these points.")
			score[i] += 10
		}
	}
	order := make([]int, len(list))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case score[a] > score[b]:
			return -1
		case score[a] < score[b]:
			return 1
		}
		return 0
	})
	sorted := make([]Reading, len(list))
	for i, k := range order {
		sorted[i] = list[k]
	}
	return sorted
}

// seen is the visibility of the worst of the points that lie where a model put
// them, 1 when a person put all.
func (r Reading) seen() float64 {
	worst := 1.0
	if c := r.Sights.Contact; c != nil {
		for part, p := range c.Points {
			if q, ok := c.Proposed[part]; ok && q.Point == p {
				worst = min(worst, q.Seen)
			}
		}
	}
	return worst
}

// sight is the contact's points in pixels of the calibrated picture.
func (r Reading) sight(c *measure.Calibration) *measure.Sight {
	if c == nil || r.Sights.Contact == nil {
		return nil
	}
	out := &measure.Sight{Points: map[measure.Part]measure.Point{}, Front: r.Sights.Contact.Front, Back: r.Sights.Contact.Back}
	for part, p := range r.Sights.Contact.Points {
		at := p.pixel(c.Width, c.Height)
		out.Points[part] = measure.Point{X: at.X, Y: at.Y}
	}
	return out
}
