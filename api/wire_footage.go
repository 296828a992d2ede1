package api

import (
	"time"

	"netreel/media"
	"netreel/tagging"
)

type wireUpload struct {
	ID          int64     `json:"id"`
	TusID       string    `json:"tus_id"`
	FileName    string    `json:"file_name"`
	Size        int64     `json:"size"`
	Camera      string    `json:"camera"`
	State       string    `json:"state"`
	RecordingID *int64    `json:"recording_id"`
	Problem     string    `json:"problem"`
	Created     time.Time `json:"created"`
}

func toUpload(u tagging.Upload) wireUpload {
	return wireUpload{ID: u.ID, TusID: u.TusID, FileName: u.FileName, Size: u.Size, Camera: string(u.Camera), State: string(u.State),
		RecordingID: orNull(u.RecordingID), Problem: u.Problem, Created: u.Created.UTC()}
}

type wireRecording struct {
	ID           int64         `json:"id"`
	SessionID    int64         `json:"session_id"`
	Title        string        `json:"title"`
	Camera       string        `json:"camera"`
	Size         int64         `json:"size"`
	State        string        `json:"state"`
	Problem      string        `json:"problem"`
	Step         string        `json:"step"`
	Progress     float64       `json:"progress"`
	Offset       media.Micros  `json:"offset_us"`
	RatePPM      float64       `json:"rate_ppm"`
	ClockBy      string        `json:"clock_by"`
	ClockSure    *float64      `json:"clock_sure"`
	ClockNote    string        `json:"clock_note"`
	Metres       *float64      `json:"metres"`
	Notes        []string      `json:"notes"`
	Duration     *media.Micros `json:"duration_us"`
	Width        *int          `json:"width"`
	Height       *int          `json:"height"`
	FrameRate    *float64      `json:"frame_rate"`
	VideoCodec   string        `json:"video_codec"`
	HasSound     bool          `json:"has_sound"`
	BrowserShows bool          `json:"browser_shows"`
	Created      time.Time     `json:"created"`
}

func toRecording(r tagging.Recording) wireRecording {
	w := wireRecording{ID: r.ID, SessionID: r.SessionID, Title: r.Title, Camera: string(r.Camera), Size: r.Size, State: string(r.State),
		Problem: r.Problem, Step: r.Step, Progress: r.Progress, Offset: r.Clock.Offset, RatePPM: r.Clock.RatePPM, ClockBy: string(r.ClockBy),
		ClockSure: r.ClockSure, ClockNote: r.ClockNote, Metres: r.Metres, Notes: append([]string{}, r.Notes...), Created: r.Created.UTC()}
	if p := r.Probe; p != nil {
		w.Duration, w.Width, w.Height, w.FrameRate = &p.Duration, &p.Width, &p.Height, &p.FrameRate
		w.VideoCodec, w.HasSound, w.BrowserShows = p.VideoCodec, p.HasSound(), p.BrowserShows()
	}
	return w
}

// wireRecordingChange changes what it names and leaves the rest; metres below 0
// are not said.
type wireRecordingChange struct {
	Title   *string       `json:"title"`
	Camera  *string       `json:"camera"`
	Offset  *media.Micros `json:"offset_us"`
	RatePPM *float64      `json:"rate_ppm"`
	Metres  *float64      `json:"metres"`
}

func (w wireRecordingChange) apply(r tagging.Recording) tagging.Recording {
	if w.Title != nil {
		r.Title = *w.Title
	}
	if w.Camera != nil {
		r.Camera = media.Camera(*w.Camera)
	}
	if w.Offset != nil {
		r.Clock.Offset = *w.Offset
	}
	if w.RatePPM != nil {
		r.Clock.RatePPM = *w.RatePPM
	}
	if w.Metres != nil {
		r.Metres = w.Metres
		if *w.Metres < 0 {
			r.Metres = nil
		}
	}
	return r
}

type wireTrace struct {
	Step   media.Micros `json:"step_us"`
	Values []byte       `json:"values"` // base64
}

type wireTraces struct {
	Sound  *wireTrace `json:"sound"`
	Motion *wireTrace `json:"motion"`
}

func toTrace(t *media.Trace) *wireTrace {
	if t == nil {
		return nil
	}
	return &wireTrace{t.Step, append([]byte{}, t.Values...)}
}

type wireLane struct {
	Recordings []wireRecording `json:"recordings"`
	Blocks     []wireBlock     `json:"blocks"`
	Balls      []wireLaneBall  `json:"balls"`
	Cut        float64         `json:"cut"`
	CutChosen  bool            `json:"cut_chosen"`
	Weak       []wireWeakBall  `json:"weak"`
	Breaks     []wireSpan      `json:"breaks"`
}

func toLane(l tagging.Lane) wireLane {
	return wireLane{Recordings: each(l.Recordings, toRecording), Blocks: each(l.Blocks, toBlock), Balls: each(l.Balls, toLaneBall),
		Cut: l.Cut, CutChosen: l.CutChosen, Weak: each(l.Weak, toWeakBall),
		Breaks: each(l.Breaks, func(s media.Span) wireSpan { return wireSpan{s.Start, s.End} })}
}

type wireSpan struct {
	Start media.Micros `json:"start_us"`
	End   media.Micros `json:"end_us"`
}

// wireWeakBall is what the split thought of but does not propose.
type wireWeakBall struct {
	Start      media.Micros  `json:"start_us"`
	Contact    *media.Micros `json:"contact_us"`
	End        media.Micros  `json:"end_us"`
	Confidence float64       `json:"confidence"`
}

func toWeakBall(d media.Delivery) wireWeakBall {
	return wireWeakBall{d.Start, d.Contact, d.End, d.Confidence}
}

// wireCut says from which confidence balls are proposed; null is what the
// splits propose themselves.
type wireCut struct {
	Cut *float64 `json:"cut"`
}

type wireLaneBall struct {
	ID         int64         `json:"id"`
	Number     int           `json:"number"`
	Start      media.Micros  `json:"start_us"`
	Contact    *media.Micros `json:"contact_us"`
	End        media.Micros  `json:"end_us"`
	Confidence float64       `json:"confidence"`
	Struck     *float64      `json:"struck"`
	Origin     string        `json:"origin"`
	State      string        `json:"state"`
	Revision   int           `json:"revision"`
	BlockID    *int64        `json:"block_id"`
	PlayerID   *int64        `json:"player_id"`
	BatterID   *int64        `json:"batter_id"`
}

func toLaneBall(b tagging.Ball) wireLaneBall {
	return wireLaneBall{ID: b.ID, Number: b.Number, Start: b.Span.Start, Contact: b.Contact, End: b.Span.End, Confidence: b.Confidence, Struck: b.Struck,
		Origin: b.Origin, State: string(b.State), Revision: b.Revision, BlockID: orNull(b.BlockID), PlayerID: orNull(b.PlayerID),
		BatterID: orNull(b.BatterID)}
}

type wireLaneEdit struct {
	Balls []wireBallEdit `json:"balls"`
}

type wireBallEdit struct {
	ID       int64         `json:"id"`
	Revision int           `json:"revision"`
	Start    media.Micros  `json:"start_us"`
	Contact  *media.Micros `json:"contact_us"`
	End      media.Micros  `json:"end_us"`
	State    string        `json:"state"`
	BatterID *int64        `json:"batter_id"`
}

func (e wireLaneEdit) edit() tagging.LaneEdit {
	return tagging.LaneEdit{Balls: each(e.Balls, func(b wireBallEdit) tagging.BallEdit {
		return tagging.BallEdit{ID: b.ID, Revision: b.Revision, Span: media.Span{Start: b.Start, End: b.End}, Contact: b.Contact,
			State: tagging.BallState(b.State), BatterID: orZero(b.BatterID)}
	})}
}
