package tagging

import (
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"

	"netreel/media"
	"netreel/media/fault"
)

// MarkKind is what was pressed at the net.
type MarkKind string

// The kinds: the session began; a block began; a ball was given (off the
// feeder's card, or counted); worth a look; good; a term was seen; the
// player's word; a clap that the cameras hear too; an earlier mark was not
// meant.
const (
	StartMark MarkKind = "start"
	BlockMark MarkKind = "block"
	GivenMark MarkKind = "given"
	LookMark  MarkKind = "look"
	GoodMark  MarkKind = "good"
	TermMark  MarkKind = "term"
	WordMark  MarkKind = "word"
	ClapMark  MarkKind = "clap"
	UndoMark  MarkKind = "undo"
)

// Mark is one press at the net.
type Mark struct {
	UUID        uuid.UUID
	Who         string // the account's name
	Kind        MarkKind
	Made        time.Time     // by the server's clock, as far as the phone knew it
	Doubt       time.Duration // by how much that may be off; whole milliseconds
	Block, Ball *int          // of the session's plan, counted from 0; nil when there was none
	Group, Term string        // with TermMark
	Body        string        // with WordMark, and the name of a block
	Undoes      uuid.UUID     // with UndoMark
	At          *media.Micros // on the session clock; nil while nobody can say where its zero is
	BallID      int64         // the delivered ball it speaks of; 0 for none
}

// NetSession is a session that a phone began by itself.
type NetSession struct {
	UUID   uuid.UUID
	Title  string
	HeldOn string
	PlanID int64 // 0 for none
}

// NetBatch is what a phone sends: the marks that it has not been told are
// kept. Sending any of them again changes nothing.
type NetBatch struct {
	SessionID int64       // 0 with New
	New       *NetSession // began at the net
	Marks     []Mark
}

// ZeroBy says how a session's clock was laid on the wall clock.
type ZeroBy string

// The ways. ByNothing is none yet.
const (
	ByNothing   ZeroBy = ""
	ByRecording ZeroBy = "recording" // by the time the camera wrote into its file
	ByStart     ZeroBy = "start"     // the session clock begins at the start mark
	ByClap      ZeroBy = "clap"      // by a clap that phone and camera both noted
	ByHand      ZeroBy = "hand"
)

// Zero is where a session's clock reads zero.
type Zero struct {
	At *time.Time // nil with ByNothing
	By ZeroBy
}

// Net is what was noted at the net of a session.
type Net struct {
	Zero   Zero   // in force
	Chosen bool   // by a person; else it is the best that is known
	Ways   []Zero // what else is known: by each recording, by the start
	Marks  []Mark // ascending by time; taken back ones left out
}

// Limits of what a phone sends at once.
const (
	MaxMarks   = 500
	MaxMarkLen = 200 // characters
)

// Validate checks a mark by itself.
func (m Mark) Validate() error {
	bad := func(field, reason string) error {
		return fault.New(fault.Invalid, "tagging.Mark", "A mark could not be kept: "+field+" "+reason+".",
			fault.Field{Name: field, Reason: reason})
	}
	switch {
	case m.UUID == uuid.Nil:
		return bad("uuid", "is missing")
	case m.Made.Year() < 2000 || m.Made.Year() > 2200:
		return bad("made", "is not a time that a clock shows")
	case m.Doubt < 0:
		return bad("doubt_ms", "must be 0 or more")
	case utf8.RuneCountInString(m.Body) > MaxMarkLen || strings.ContainsRune(m.Body, 0) || !utf8.ValidString(m.Body):
		return bad("body", fmt.Sprintf("must be %d characters at most", MaxMarkLen))
	case m.Block != nil && (*m.Block < 0 || *m.Block > 1000) || m.Ball != nil && (*m.Ball < 0 || *m.Ball > 1000):
		return bad("block", "is none that a plan has")
	}
	switch m.Kind {
	case TermMark:
		if m.Group == "" || m.Term == "" {
			return bad("term", "is missing")
		}
	case UndoMark:
		if m.Undoes == uuid.Nil {
			return bad("undoes", "is missing")
		}
	case WordMark:
		if strings.TrimSpace(m.Body) == "" {
			return bad("body", "is missing")
		}
	case StartMark, BlockMark, GivenMark, LookMark, GoodMark, ClapMark:
	default:
		return bad("kind", "is not known here")
	}
	return nil
}

// Of says whether marks of the kind speak of the ball before them.
func (k MarkKind) Of() bool {
	return k == LookMark || k == GoodMark || k == TermMark || k == WordMark
}

// markReach is how long after a ball a press still speaks of it: a ball's walk
// back, in common practice; no source.
const markReach = 30 * media.Second

// MarkedBall is the ball that a press at a time speaks of: the last one whose
// moment was not after it, if that was not too long ago; 0 for none. Balls are
// in order of time.
func MarkedBall(at media.Micros, balls []Ball) int64 {
	var id int64
	for _, b := range balls {
		m := Moment(b.Span, b.Contact)
		if m > at {
			break
		}
		if b.State != Discarded {
			if id = 0; at-m <= markReach {
				id = b.ID
			}
		}
	}
	return id
}

// Proposal is a term that is likely to hold on a ball, until a person says so.
type Proposal struct {
	BallID      int64
	Group, Term string
	From        string // "plan": the feeder's card had it; "net": it was pressed at the net
}
