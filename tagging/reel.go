package tagging

import (
	"time"
)

// Reel is balls to watch in a row: those that a question finds, now and later,
// or hand-picked ones in an order.
type Reel struct {
	ID       int64
	Title    string
	Note     string
	Question *string // printed find.Question; nil for a hand-picked reel
	MadeBy   string
	Revision int
	Players  []int64 // the players it is shared with
	Balls    []ReelBall
	Count    int // of balls, filled by lists
	Updated  time.Time
}

// ReelBall is a ball in a reel, with what the coach wrote on it there.
type ReelBall struct {
	BallID int64
	Title  string
	Note   string
}

// ReelInput is what a person fills in. With a Question, Balls carries titles
// and notes only; without, it is the whole order.
type ReelInput struct {
	Title    string
	Note     string
	Question *string
	Players  []int64
	Balls    []ReelBall
	Revision int // that the page knew; a newer one is fault.Conflict
}

// PlaylistItem is a ball of a reel with all that the player page shows.
type PlaylistItem struct {
	ReelBall
	Ball    Ball
	Session string // title
	HeldOn  string
	Block   string
	Player  string
}

// Playlist is a reel ready to be watched.
type Playlist struct {
	Reel  Reel
	Squad string
	Items []PlaylistItem
}

// Share is a link to one reel that works without an account.
type Share struct {
	ID      int64
	ReelID  int64
	MadeBy  string
	Created time.Time
	Expires time.Time
	Revoked bool
	Opened  int
}

// MaxShareDays is how long a share link may live.
const MaxShareDays = 90

// ExportState is how far the making of a film has come.
type ExportState string

// The states.
const (
	ExportWaiting   ExportState = "waiting"
	ExportWorking   ExportState = "working"
	ExportDone      ExportState = "done"
	ExportFailed    ExportState = "failed"
	ExportCancelled ExportState = "cancelled"
)

// Export is a reel made into one film.
type Export struct {
	ID       int64
	ReelID   int64
	Burn     bool // terms burned into the picture; else a track beside it
	State    ExportState
	Progress float64
	Problem  string
	Created  time.Time
}

// Event tells pages that something of a squad changed, so that they fetch it
// again. It carries no content: what may be seen is checked when it is fetched.
//
// Topics: "recording", "upload", "lane", "clip", "observation", "measure", "felt",
// "rules", "reel", "export", "session", "people", "vocabulary", "plan", "net";
// and "everything" when events may have been lost (with SquadID 0: those of
// every squad).
type Event struct {
	SquadID int64  `json:"-"`
	Topic   string `json:"topic"`
	ID      int64  `json:"id"` // of the thing; of the ball for observation and measure
	Session int64  `json:"session,omitempty"`
}
