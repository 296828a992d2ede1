package tagging

import (
	"fmt"
	"math"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"

	"netreel/media"
	"netreel/media/fault"
)

// Kind is the sort of an entry in the ledger of observations.
type Kind string

// The kinds. A retraction takes an earlier entry back.
const (
	TermKind       Kind = "term"
	NoteKind       Kind = "note"
	DrawingKind    Kind = "drawing"
	RetractionKind Kind = "retraction"
)

// Observation says that somebody saw something on a ball. The ledger of them
// is insert-only: a correction supersedes an entry, an undo retracts it.
type Observation struct {
	ID          int64
	UUID        uuid.UUID
	BallID      int64
	AccountID   int64
	Coder       string // the account's name
	Kind        Kind
	At          *media.Micros // session clock; nil: of the ball as a whole
	Until       *media.Micros // with At: a span
	Group, Term string        // keys, with TermKind
	Edition     int           // of the vocabulary, with TermKind
	Wording     string        // the term's name in that edition
	Body        string        // with NoteKind
	Drawing     *Drawing      // with DrawingKind
	RecordingID int64         // the picture a drawing lies on
	Made        time.Time
}

// LedgerLine is an entry of the ledger with what became of it.
type LedgerLine struct {
	Observation
	Supersedes int64 // the entry that this one corrects or takes back; 0 for none
	Gone       bool  // superseded, retracted, or a retraction itself
}

// Entry is what a page sends to the ledger. Its UUID is made by the page:
// sending an entry again changes nothing.
type Entry struct {
	UUID        uuid.UUID
	BallID      int64
	Kind        Kind
	At, Until   *media.Micros
	Group, Term string
	Body        string
	Drawing     *Drawing
	RecordingID int64
	Retracts    uuid.UUID // with RetractionKind: an entry of the same person; with NoteKind: the note it corrects, or uuid.Nil
}

// Limits of one entry.
const (
	MaxNoteLen   = 4000
	MaxStrokes   = 100
	MaxPoints    = 2000 // of one stroke
	DrawingTones = 4
	MaxEntries   = 200 // in one save
)

// Validate checks an entry by itself. Whether its term is offered, and its
// ball there, is the store's to say.
func (e Entry) Validate() error {
	bad := func(field, reason string) error {
		return fault.New(fault.Invalid, "tagging.Entry", "That could not be saved: "+field+" "+reason+".",
			fault.Field{Name: field, Reason: reason})
	}
	if e.UUID == uuid.Nil {
		return bad("uuid", "is missing")
	}
	if e.Until != nil && (e.At == nil || *e.Until <= *e.At) {
		return bad("until_us", "must be after at_us")
	}
	switch e.Kind {
	case TermKind:
		if e.Group == "" || e.Term == "" {
			return bad("term", "is missing")
		}
	case NoteKind:
		if strings.TrimSpace(e.Body) == "" || utf8.RuneCountInString(e.Body) > MaxNoteLen {
			return bad("body", fmt.Sprintf("must be 1 to %d characters", MaxNoteLen))
		}
	case DrawingKind:
		if e.Drawing == nil || e.At == nil {
			return bad("drawing", "needs strokes and a time")
		}
		return e.Drawing.Validate()
	case RetractionKind:
		if e.Retracts == uuid.Nil {
			return bad("retracts", "is missing")
		}
	default:
		return bad("kind", "must be term, note, drawing or retraction")
	}
	return nil
}

// Validate checks that a drawing is finite, inside the picture and not huge.
func (d Drawing) Validate() error {
	bad := func(reason string) error {
		return fault.New(fault.Invalid, "tagging.Drawing", "The drawing could not be saved: it "+reason+".",
			fault.Field{Name: "drawing", Reason: reason})
	}
	if len(d.Strokes) == 0 || len(d.Strokes) > MaxStrokes {
		return bad(fmt.Sprintf("must have 1 to %d strokes", MaxStrokes))
	}
	for _, s := range d.Strokes {
		if len(s.Points) < 2 || len(s.Points) > MaxPoints {
			return bad(fmt.Sprintf("must have 2 to %d points in each stroke", MaxPoints))
		}
		if s.Tone < 0 || s.Tone >= DrawingTones {
			return bad("uses an unknown tone")
		}
		for _, p := range s.Points {
			for _, v := range p {
				if math.IsNaN(v) || v < 0 || v > 1 {
					return bad("leaves the picture")
				}
			}
		}
	}
	return nil
}
