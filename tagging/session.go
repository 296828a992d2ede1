package tagging

import (
	"encoding/json"
	"time"

	"netreel/media"
)

// Session is an hour at the nets.
type Session struct {
	ID      int64
	Title   string
	HeldOn  string // ISO date: "2026-01-31"
	Place   string
	Note    string
	Focus   []string // keys of the groups that the coding page walks through, in order
	Players []Player
	// Counts, filled by lists.
	Recordings, Balls, Coded int
}

// DefaultFocus are the groups a new session's coding page walks through: six,
// so that a ball is coded in six key strokes.
func DefaultFocus() []string {
	return []string{"length", "shot", "feet", "base", "decision", "contact"}
}

// SessionInput is what a person fills in.
type SessionInput struct {
	Title   string
	HeldOn  string
	Place   string
	Note    string
	Focus   []string
	Players []int64
}

// Block is a part of a session: so many balls of a kind.
type Block struct {
	ID       int64 // 0 for a new one
	Name     string
	Span     media.Span
	PlayerID int64  // 0: the session's only player
	Bowling  string // term keys; "" when not said
	Feed     string
	Bat      string
	Aim      int // balls aimed at; 0 when not said

	// Challenge says that the balls count: each is effective or not, on a card.
	Challenge bool
	Feeder    string  // who fed, in plain words; "" when not said
	SpeedKPH  float64 // what the feed was set or asked to; 0 when not said
	PlanID    int64   // the plan that it was made of; 0 for none
	PlanBlock int     // with PlanID: which of its blocks, counted from 0
}

// RecordingState is how far a recording has come.
type RecordingState string

// The states, in order; failed and cancelled can be retried.
const (
	Landed    RecordingState = "landed"
	Probed    RecordingState = "probed"
	Split     RecordingState = "split"
	Ready     RecordingState = "ready"
	Failed    RecordingState = "failed"
	Cancelled RecordingState = "cancelled"
)

// Recording is what one camera took.
type Recording struct {
	ID        int64
	SessionID int64
	Title     string
	Camera    media.Camera
	SHA256    [32]byte
	Size      int64
	State     RecordingState
	Problem   string       // for the person, when failed
	Probe     *media.Probe // nil until probed
	Clock     media.Clock
	ClockBy   ClockBy
	ClockSure *float64 // when by sound: how sure, 0 to 1
	ClockNote string   // why the clock could not be found by sound
	Metres    *float64 // from the camera to the batter; nil when not said
	Cut       float64  // the confidence from which its split proposes balls
	Notes     []string // what its split could not use and why
	Step      string   // what is being done: "probe", "split", "clips"; "" when nothing is
	Progress  float64  // of that step, 0 to 1
	Created   time.Time
}

// ClockBy says how a recording was laid on the session clock.
type ClockBy string

// The ways: by its creation time or behind the one before, by its sound, or by
// a person, whom nothing overrules.
const (
	ByGuess  ClockBy = "guess"
	BySound  ClockBy = "sound"
	ByPerson ClockBy = "person"
)

// UploadState is how far an upload has come.
type UploadState string

// The states: adopted and duplicate uploads name their recording.
const (
	UploadOpen      UploadState = "open"
	UploadLanded    UploadState = "landed"
	UploadAdopted   UploadState = "adopted"
	UploadDuplicate UploadState = "duplicate"
	UploadFailed    UploadState = "failed"
)

// Upload is a file on its way in.
type Upload struct {
	ID          int64
	TusID       string
	SessionID   int64
	AccountID   int64
	FileName    string
	Size        int64
	Camera      media.Camera
	State       UploadState
	RecordingID int64
	Problem     string
	Created     time.Time
	Updated     time.Time
}

// BallState is what became of a delivery that the split proposed.
type BallState string

// The states. A discarded ball keeps its row, so that it can be restored: also
// one whose adding was undone, so that adding it again brings back that very
// ball, with what was said of it.
const (
	Proposed  BallState = "proposed"
	Accepted  BallState = "accepted"
	Discarded BallState = "discarded"
)

// Ball is one delivery of a session.
type Ball struct {
	ID         int64
	SessionID  int64
	Number     int // 1, 2, 3 ... in the session; 0 when discarded
	Span       media.Span
	Contact    *media.Micros
	Confidence float64
	Struck     *float64 // the split's guess whether the bat was hit, 0 to 1; nil when a person added the ball
	Origin     string   // "split" or "person"
	State      BallState
	Revision   int
	BlockID    int64
	PlayerID   int64
	BatterID   int64 // set by a person; 0 when derived
	Clips      []Clip
	Seen       []Observation
	Measured   []Measured // by measure, the surest first
}

// Measured is a value that was measured off a ball's picture (package measure)
// and accepted.
type Measured struct {
	Measure     string // its key
	RecordingID int64  // off whose picture
	Value       float64
	Sigma       float64 // one standard deviation
	Caveats     []string
}

// Clip is one ball on one recording.
type Clip struct {
	ID          int64
	BallID      int64
	RecordingID int64
	Camera      media.Camera
	Span        media.Span // on the recording's own clock
	Clock       media.Clock
	Revision    int
	Quick       *ClipFile // nil until cut, or when the browser can't show the original
	Smooth      *ClipFile // nil until made
	HasPoster   bool
	Problem     string
}

// ClipFile is one file of a clip. The clip's chosen start lies Lead after the
// file's first frame.
type ClipFile struct {
	Lead   media.Micros
	Frames []media.Micros // presentation times on the file's own clock
}

// Best is the file to show: the smooth one where there is one.
func (c Clip) Best() (name string, f *ClipFile) {
	switch {
	case c.Smooth != nil:
		return "smooth", c.Smooth
	case c.Quick != nil:
		return "quick", c.Quick
	}
	return "", nil
}

// LaneEdit changes balls of a session's lane all at once or not at all. Add,
// move an edge, merge, split, discard, restore and accept are all made of it,
// and so are their undos.
type LaneEdit struct {
	Balls []BallEdit
}

// BallEdit is the wanted state of one ball; ID 0 adds one.
type BallEdit struct {
	ID       int64
	Revision int // that the page knew; a newer one is fault.Conflict
	Span     media.Span
	Contact  *media.Micros
	State    BallState
	BatterID int64
}

// Lane is a session laid out in time.
type Lane struct {
	Recordings []Recording
	Blocks     []Block
	Balls      []Ball // discarded ones too, ascending by start; without clips
	Cut        float64
	CutChosen  bool             // by a person; else it is what the splits propose
	Weak       []media.Delivery // what the splits thought of but did not propose, session clock, ascending
	Breaks     []media.Span     // gaps after which a new block is likely to begin, session clock, ascending
}

// Drawing is freehand and straight lines on a picture, in shares of its width
// and height. It is kept as the page made it after Valid has looked at it.
type Drawing struct {
	Strokes []Stroke `json:"strokes"`
}

// Stroke is one line: points (x, y), each 0 to 1.
type Stroke struct {
	Straight bool         `json:"straight"`
	Tone     int          `json:"tone"` // 0 to 3: index of the page's drawing tones
	Points   [][2]float64 `json:"points"`
}

// JSON is the drawing as kept.
func (d Drawing) JSON() json.RawMessage {
	b, err := json.Marshal(d)
	if err != nil { // numbers and booleans only; NaN is refused by Validate
		panic(err)
	}
	return b
}
