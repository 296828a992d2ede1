package api

import (
	"fmt"
	"time"

	"github.com/google/uuid"

	"netreel/media"
	"netreel/tagging"
)

// links is where the clips of an answer are fetched: a share link's clips have
// addresses of their own, which its secret opens.
type links struct{ clips string }

var ownLinks = links{"/api/clips/"}

func sharedLinks(secret string) links { return links{"/api/shared/" + secret + "/clips/"} }

type wireClipFile struct {
	Which  string         `json:"which"`
	URL    string         `json:"url"`
	Lead   media.Micros   `json:"lead_us"`
	Frames []media.Micros `json:"frames_us"`
}

type wireClip struct {
	ID          int64         `json:"id"`
	RecordingID int64         `json:"recording_id"`
	Camera      string        `json:"camera"`
	Revision    int           `json:"revision"`
	Start       media.Micros  `json:"start_us"`
	End         media.Micros  `json:"end_us"`
	Poster      string        `json:"poster"`
	File        *wireClipFile `json:"file"`
	Smooth      bool          `json:"smooth"`
	Problem     string        `json:"problem"`
}

// clip gives the stretch on the session clock, as everything of a ball.
func (l links) clip(c tagging.Clip) wireClip {
	w := wireClip{ID: c.ID, RecordingID: c.RecordingID, Camera: string(c.Camera), Revision: c.Revision,
		Start: c.Clock.ToSession(c.Span.Start), End: c.Clock.ToSession(c.Span.End),
		Poster: fmt.Sprintf("%s%d/poster?revision=%d", l.clips, c.ID, c.Revision), Smooth: c.Smooth != nil, Problem: c.Problem}
	if which, f := c.Best(); f != nil {
		w.File = &wireClipFile{Which: which, URL: fmt.Sprintf("%s%d/video?which=%s&revision=%d", l.clips, c.ID, which, c.Revision),
			Lead: f.Lead, Frames: append([]media.Micros{}, f.Frames...)}
	}
	return w
}

type wireBall struct {
	ID         int64             `json:"id"`
	SessionID  int64             `json:"session_id"`
	Number     int               `json:"number"`
	Start      media.Micros      `json:"start_us"`
	Contact    *media.Micros     `json:"contact_us"`
	End        media.Micros      `json:"end_us"`
	Confidence float64           `json:"confidence"`
	State      string            `json:"state"`
	BlockID    *int64            `json:"block_id"`
	PlayerID   *int64            `json:"player_id"`
	Clips      []wireClip        `json:"clips"`
	Seen       []wireObservation `json:"seen"`
	Measured   []wireMeasured    `json:"measured"`
}

func (l links) ball(b tagging.Ball) wireBall {
	return wireBall{ID: b.ID, SessionID: b.SessionID, Number: b.Number, Start: b.Span.Start, Contact: b.Contact, End: b.Span.End,
		Confidence: b.Confidence, State: string(b.State), BlockID: orNull(b.BlockID), PlayerID: orNull(b.PlayerID),
		Clips: each(b.Clips, l.clip), Seen: each(b.Seen, toObservation), Measured: each(b.Measured, toMeasured)}
}

type wirePoint struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

type wireStroke struct {
	Straight bool        `json:"straight"`
	Tone     int         `json:"tone"`
	Points   []wirePoint `json:"points"`
}

type wireDrawing struct {
	Strokes []wireStroke `json:"strokes"`
}

func toDrawing(d *tagging.Drawing) *wireDrawing {
	if d == nil {
		return nil
	}
	return &wireDrawing{each(d.Strokes, func(s tagging.Stroke) wireStroke {
		return wireStroke{s.Straight, s.Tone, each(s.Points, func(p [2]float64) wirePoint { return wirePoint{p[0], p[1]} })}
	})}
}

func (d *wireDrawing) drawing() *tagging.Drawing {
	if d == nil {
		return nil
	}
	return &tagging.Drawing{Strokes: each(d.Strokes, func(s wireStroke) tagging.Stroke {
		return tagging.Stroke{Straight: s.Straight, Tone: s.Tone,
			Points: each(s.Points, func(p wirePoint) [2]float64 { return [2]float64{p.X, p.Y} })}
	})}
}

type wireObservation struct {
	ID          int64         `json:"id"`
	UUID        uuid.UUID     `json:"uuid"`
	BallID      int64         `json:"ball_id"`
	CoderID     int64         `json:"coder_id"`
	Coder       string        `json:"coder"`
	Kind        string        `json:"kind"`
	At          *media.Micros `json:"at_us"`
	Until       *media.Micros `json:"until_us"`
	Group       string        `json:"group"`
	Term        string        `json:"term"`
	Wording     string        `json:"wording"`
	Edition     int           `json:"edition"`
	Body        string        `json:"body"`
	Drawing     *wireDrawing  `json:"drawing"`
	RecordingID *int64        `json:"recording_id"`
	Made        time.Time     `json:"made"`
}

func toObservation(o tagging.Observation) wireObservation {
	return wireObservation{ID: o.ID, UUID: o.UUID, BallID: o.BallID, CoderID: o.AccountID, Coder: o.Coder, Kind: string(o.Kind),
		At: o.At, Until: o.Until, Group: o.Group, Term: o.Term, Wording: o.Wording, Edition: o.Edition, Body: o.Body,
		Drawing: toDrawing(o.Drawing), RecordingID: orNull(o.RecordingID), Made: o.Made.UTC()}
}

type wireLedgerLine struct {
	ID         int64         `json:"id"`
	UUID       uuid.UUID     `json:"uuid"`
	Coder      string        `json:"coder"`
	Kind       string        `json:"kind"`
	At         *media.Micros `json:"at_us"`
	Group      string        `json:"group"`
	Term       string        `json:"term"`
	Wording    string        `json:"wording"`
	Body       string        `json:"body"`
	Supersedes *int64        `json:"supersedes"`
	Gone       bool          `json:"gone"`
	Made       time.Time     `json:"made"`
}

func toLedgerLine(l tagging.LedgerLine) wireLedgerLine {
	return wireLedgerLine{ID: l.ID, UUID: l.UUID, Coder: l.Coder, Kind: string(l.Kind), At: l.At, Group: l.Group, Term: l.Term,
		Wording: l.Wording, Body: l.Body, Supersedes: orNull(l.Supersedes), Gone: l.Gone, Made: l.Made.UTC()}
}

type wireEntry struct {
	UUID        uuid.UUID     `json:"uuid"`
	BallID      int64         `json:"ball_id"`
	Kind        string        `json:"kind"`
	At          *media.Micros `json:"at_us"`
	Until       *media.Micros `json:"until_us"`
	Group       string        `json:"group"`
	Term        string        `json:"term"`
	Body        string        `json:"body"`
	Drawing     *wireDrawing  `json:"drawing"`
	RecordingID *int64        `json:"recording_id"`
	Retracts    *uuid.UUID    `json:"retracts"`
}

func (e wireEntry) entry() tagging.Entry {
	return tagging.Entry{UUID: e.UUID, BallID: e.BallID, Kind: tagging.Kind(e.Kind), At: e.At, Until: e.Until, Group: e.Group,
		Term: e.Term, Body: e.Body, Drawing: e.Drawing.drawing(), RecordingID: orZero(e.RecordingID), Retracts: orZero(e.Retracts)}
}
