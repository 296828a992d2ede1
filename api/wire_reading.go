package api

import (
	"time"

	"github.com/google/uuid"

	"netreel/media"
	"netreel/tagging"
	"netreel/tagging/measure"
	"netreel/tagging/reading"
)

// wireMeasures is what can be measured and clicked.
type wireMeasures struct {
	Measures []wireMeasure  `json:"measures"`
	Parts    []wireBodyPart `json:"parts"`
}

type wireMeasure struct {
	Key   string   `json:"key"`
	Name  string   `json:"name"`
	Unit  string   `json:"unit"`
	About string   `json:"about"`
	Needs []string `json:"needs"`
}

type wireBodyPart struct {
	Key    string `json:"key"`
	Name   string `json:"name"`
	Click  string `json:"click"`
	Ground bool   `json:"ground"`
}

func toMeasures() wireMeasures {
	return wireMeasures{
		Measures: each(measure.Measures(), func(m measure.Measure) wireMeasure {
			return wireMeasure{m.Key, m.Name, string(m.Unit), m.About, each(m.Needs, func(n measure.Need) string { return string(n) })}
		}),
		Parts: each(measure.Parts(), func(p measure.PartInfo) wireBodyPart { return wireBodyPart{string(p.Key), p.Name, p.Click, p.Ground} }),
	}
}

type wireProposedPoint struct {
	X    float64 `json:"x"`
	Y    float64 `json:"y"`
	Seen float64 `json:"seen"`
}

type wireSight struct {
	At       media.Micros                 `json:"at_us"`
	Points   map[string]wirePoint         `json:"points"`
	Proposed map[string]wireProposedPoint `json:"proposed"`
	Front    string                       `json:"front"`
	Back     string                       `json:"back"`
}

type wireSights struct {
	Stance  *wireSight    `json:"stance"`
	Contact *wireSight    `json:"contact"`
	Trigger *media.Micros `json:"trigger_us"`
	Release *media.Micros `json:"release_us"`
	Bounce  *media.Micros `json:"bounce_us"`
}

// keyed makes a map of another.
func keyed[A, B ~string, V, W any](m map[A]V, fn func(V) W) map[B]W {
	out := make(map[B]W, len(m))
	for k, v := range m {
		out[B(k)] = fn(v)
	}
	return out
}

func (s *wireSight) sight() *reading.Sight {
	if s == nil {
		return nil
	}
	return &reading.Sight{
		At: s.At, Front: measure.Footing(s.Front), Back: measure.Footing(s.Back),
		Points: keyed[string, measure.Part](s.Points, wirePoint.point),
		Proposed: keyed[string, measure.Part](s.Proposed, func(p wireProposedPoint) reading.Proposal {
			return reading.Proposal{Point: reading.Point{X: p.X, Y: p.Y}, Seen: p.Seen}
		}),
	}
}

func toSight(s *reading.Sight) *wireSight {
	if s == nil {
		return nil
	}
	return &wireSight{
		At: s.At, Front: string(s.Front), Back: string(s.Back), Points: keyed[measure.Part, string](s.Points, toPoint),
		Proposed: keyed[measure.Part, string](s.Proposed, func(p reading.Proposal) wireProposedPoint { return wireProposedPoint{p.X, p.Y, p.Seen} }),
	}
}

type wireReadingInput struct {
	UUID        uuid.UUID  `json:"uuid"`
	BallID      int64      `json:"ball_id"`
	RecordingID int64      `json:"recording_id"`
	Sights      wireSights `json:"sights"`
	ProposedBy  string     `json:"proposed_by"`
	Status      string     `json:"status"`
}

func (w wireReadingInput) input() reading.Input {
	s := w.Sights
	return reading.Input{
		UUID: w.UUID, BallID: w.BallID, RecordingID: w.RecordingID, ProposedBy: w.ProposedBy, Status: reading.Status(w.Status),
		Sights: reading.Sights{Stance: s.Stance.sight(), Contact: s.Contact.sight(), Trigger: s.Trigger, Release: s.Release, Bounce: s.Bounce},
	}
}

// wireValue is a measured value; text is as people read it: "62 ± 3 cm".
type wireValue struct {
	Measure string   `json:"measure"`
	Name    string   `json:"name"`
	Value   float64  `json:"value"`
	Sigma   float64  `json:"sigma"`
	Unit    string   `json:"unit"`
	Text    string   `json:"text"`
	Low     *float64 `json:"low"`
	High    *float64 `json:"high"`
	Caveats []string `json:"caveats"`
}

func toValue(v measure.Value) wireValue {
	m, _ := measure.Find(v.Measure)
	return wireValue{v.Measure, m.Name, v.Value, v.Sigma, string(v.Unit), v.String(), v.Low, v.High, append([]string{}, v.Caveats...)}
}

// toMeasured is an accepted value as a ball bears it.
func toMeasured(m tagging.Measured) wireMeasured {
	name, v := measure.Of(m.Measure, m.Value, m.Sigma, m.Caveats)
	return wireMeasured{m.Measure, name, m.RecordingID, m.Value, v.String(), append([]string{}, m.Caveats...)}
}

type wireMeasured struct {
	Measure     string   `json:"measure"`
	Name        string   `json:"name"`
	RecordingID int64    `json:"recording_id"`
	Value       float64  `json:"value"`
	Text        string   `json:"text"`
	Caveats     []string `json:"caveats"`
}

type wireRefusal struct {
	Measure string `json:"measure"`
	Name    string `json:"name"`
	Why     string `json:"why"`
}

type wireTerm struct {
	Measure string  `json:"measure"`
	Group   string  `json:"group"`
	Term    string  `json:"term"`
	Sure    float64 `json:"sure"`
}

// wireComputed is what follows from points.
type wireComputed struct {
	Values   []wireValue   `json:"values"`
	Refusals []wireRefusal `json:"refusals"`
	Terms    []wireTerm    `json:"terms"`
}

func toComputed(o reading.Outcome) wireComputed {
	return wireComputed{
		Values: each(o.Values, toValue),
		Refusals: each(o.Refusals, func(r reading.Refusal) wireRefusal {
			m, _ := measure.Find(r.Measure)
			return wireRefusal{r.Measure, m.Name, r.Why}
		}),
		Terms: each(o.Terms, func(t reading.Term) wireTerm { return wireTerm{t.Measure, t.Group, t.Term, t.Sure} }),
	}
}

type wireReading struct {
	ID          int64       `json:"id"`
	UUID        uuid.UUID   `json:"uuid"`
	BallID      int64       `json:"ball_id"`
	BallNumber  int         `json:"ball_number"`
	RecordingID int64       `json:"recording_id"`
	PlayerID    *int64      `json:"player_id"`
	Block       string      `json:"block"`
	Sights      wireSights  `json:"sights"`
	ProposedBy  string      `json:"proposed_by"`
	Status      string      `json:"status"`
	Calibrated  bool        `json:"calibrated"`
	Values      []wireValue `json:"values"`
	Doubts      []string    `json:"doubts"`
	By          string      `json:"by"`
	Made        time.Time   `json:"made"`
}

func toReading(r reading.Reading) wireReading {
	s := r.Sights
	return wireReading{
		ID: r.ID, UUID: r.UUID, BallID: r.BallID, BallNumber: r.BallNumber, RecordingID: r.RecordingID, PlayerID: orNull(r.PlayerID),
		Block: r.Block, ProposedBy: r.ProposedBy, Status: string(r.Status), Calibrated: r.Calibrated, Values: each(r.Values, toValue),
		Doubts: append([]string{}, r.Doubts...), By: r.By, Made: r.Made.UTC(),
		Sights: wireSights{toSight(s.Stance), toSight(s.Contact), s.Trigger, s.Release, s.Bounce},
	}
}

// wireKept is a reading that was kept, with what follows from it.
type wireKept struct {
	Reading wireReading  `json:"reading"`
	Outcome wireComputed `json:"outcome"`
}
