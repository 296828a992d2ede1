package db

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/vocabulary"
)

const (
	// Shared: coders work side by side, but not while the lane changes under them.
	sqlShareSessions = `
		SELECT id FROM net_session
		WHERE squad_id = @squad AND id IN (SELECT session_id FROM delivery WHERE id = ANY(@balls::bigint[]))
		ORDER BY id FOR SHARE`

	// Two saves of one coder on one ball take turns.
	sqlLockBalls = `
		SELECT id, session_id FROM delivery
		WHERE id = ANY(@balls::bigint[]) AND session_id = ANY(@sessions::bigint[])
		ORDER BY id FOR NO KEY UPDATE`

	sqlEntriesThere = `
		SELECT uuid, delivery_id, account_id, kind, coalesce(group_key, '') AS group_key, coalesce(term_key, '') AS term_key,
			holds, (SELECT later.uuid FROM observation later WHERE later.supersedes = o.id) AS gone_by
		FROM observation o
		WHERE delivery_id = ANY(@balls::bigint[]) OR uuid = ANY(@uuids::uuid[])
		ORDER BY id`

	sqlRecordingSessions = `SELECT id, session_id FROM recording WHERE id = ANY(@ids::bigint[])`

	sqlAddObservation = `
		WITH earlier AS (
			UPDATE observation SET holds = false WHERE uuid = @supersedes::uuid RETURNING id
		)
		INSERT INTO observation (uuid, delivery_id, account_id, kind, at_us, until_us, group_key, term_key, edition, wording,
			body, drawing, recording_id, supersedes, holds)
		VALUES (@uuid, @ball, @account, @kind, @at, @until, nullif(@group, ''), nullif(@term, ''), nullif(@edition::int, 0),
			@wording, @body, @drawing, nullif(@recording::bigint, 0), (SELECT id FROM earlier), @holds)`
)

// What the ledger of balls comes to, to be searched by. These belong after
// everything that changes what holds.
const (
	sqlDropCoding = `DELETE FROM coding WHERE delivery_id = ANY(@balls::bigint[])`

	sqlAddCoding = `
		INSERT INTO coding (delivery_id, account_id, codes)
		SELECT o.delivery_id, o.account_id,
			coalesce(array_agg(DISTINCT o.group_key || '=' || o.term_key) FILTER (WHERE o.kind = 'term'), '{}')
		FROM observation o WHERE o.delivery_id = ANY(@balls::bigint[]) AND o.holds
		GROUP BY o.delivery_id, o.account_id`

	sqlSettleCodes = `
		UPDATE delivery d SET codes = ARRAY(
			SELECT DISTINCT code FROM coding c CROSS JOIN unnest(c.codes) AS code WHERE c.delivery_id = d.id ORDER BY code)
		WHERE d.id = ANY(@balls::bigint[])`
)

// Observe adds entries to the ledger, whole or not at all; an entry that is
// there already changes nothing. It returns what now holds on each ball spoken
// of, whoever said it. A term of a group of which one may hold supersedes the
// same coder's earlier one; so does, in any group, the same term said again.
func (s *Store) Observe(ctx context.Context, v tagging.Viewer, entries []tagging.Entry) (now []tagging.Observation, err error) {
	err = s.inTx(ctx, "db.Observe", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		if err := checkEntries(entries); err != nil {
			return err
		}
		l, err := openLedger(ctx, tx, v, entries)
		if err != nil {
			return err
		}
		for _, e := range entries {
			if err := l.add(e); err != nil {
				return err
			}
		}
		balls := slices.Sorted(maps.Keys(l.sessions))
		if err := l.write(ctx, tx, balls); err != nil {
			return err
		}
		if now, err = holding(ctx, tx, balls); err != nil {
			return err
		}
		if l.batch.Len() == 0 {
			return nil
		}
		events := make([]tagging.Event, len(balls))
		for i, b := range balls {
			events[i] = tagging.Event{Topic: "observation", ID: b, Session: l.sessions[b]}
		}
		return tell(ctx, tx, v.SquadID, events...)
	})
	return now, err
}

func checkEntries(entries []tagging.Entry) error {
	if len(entries) == 0 || len(entries) > tagging.MaxEntries {
		return fault.New(fault.Invalid, "", fmt.Sprintf("One save holds 1 to %d entries.", tagging.MaxEntries))
	}
	for _, e := range entries {
		if err := e.Validate(); err != nil {
			return err
		}
		if e.Kind == tagging.NoteKind {
			var f form
			f.words("body", e.Body, 1, tagging.MaxNoteLen)
			if err := f.err(); err != nil {
				return err
			}
		}
	}
	return nil
}

// ledger is the entries on some balls while more are added to them.
type ledger struct {
	viewer     tagging.Viewer
	edition    vocabulary.Edition
	sessions   map[int64]int64 // ball -> session
	recordings map[int64]int64 // recording -> session
	entries    map[uuid.UUID]*ledgerEntry
	order      []*ledgerEntry
	batch      pgx.Batch
}

type ledgerEntry struct {
	UUID                  uuid.UUID
	DeliveryID, AccountID int64
	Kind                  tagging.Kind
	GroupKey, TermKey     string
	Holds                 bool
	GoneBy                *uuid.UUID // the entry that superseded or retracted it
}

// openLedger locks the balls spoken of and reads what was said of them.
func openLedger(ctx context.Context, tx pgx.Tx, v tagging.Viewer, entries []tagging.Entry) (*ledger, error) {
	l := &ledger{viewer: v, sessions: map[int64]int64{}, recordings: map[int64]int64{}, entries: map[uuid.UUID]*ledgerEntry{}}
	wanted, recordings := map[int64]bool{}, []int64{}
	var uuids []uuid.UUID
	for _, e := range entries {
		wanted[e.BallID] = true
		uuids = append(uuids, e.UUID)
		if e.RecordingID != 0 {
			recordings = append(recordings, e.RecordingID)
		}
	}
	balls := slices.Collect(maps.Keys(wanted))
	sessions, err := column[int64](ctx, tx, sqlShareSessions, args{"squad": v.SquadID, "balls": balls})
	if err != nil {
		return nil, err
	}
	type owned struct{ ID, SessionID int64 }
	locked, err := all[owned](ctx, tx, sqlLockBalls, args{"balls": balls, "sessions": sessions})
	if err != nil {
		return nil, err
	}
	if len(locked) != len(balls) {
		return nil, absent(noBall)
	}
	for _, b := range locked {
		l.sessions[b.ID] = b.SessionID
	}
	there, err := all[ledgerEntry](ctx, tx, sqlEntriesThere, args{"balls": balls, "uuids": uuids})
	if err != nil {
		return nil, err
	}
	for i := range there {
		l.know(&there[i])
	}
	films, err := all[owned](ctx, tx, sqlRecordingSessions, args{"ids": recordings})
	if err != nil {
		return nil, err
	}
	for _, r := range films {
		l.recordings[r.ID] = r.SessionID
	}
	l.edition, err = edition(ctx, tx, sqlCurrentEdition, args{"squad": v.SquadID})
	return l, err
}

func (l *ledger) know(e *ledgerEntry) {
	l.entries[e.UUID] = e
	l.order = append(l.order, e)
}

// add decides what an entry does to the ledger, and queues its row.
func (l *ledger) add(e tagging.Entry) error {
	if there := l.entries[e.UUID]; there != nil {
		if there.AccountID != l.viewer.AccountID {
			return fault.New(fault.Conflict, "", taken["observation_uuid_key"])
		}
		return nil // sent once more
	}
	switch e.Kind {
	case tagging.TermKind:
		return l.addTerm(e)
	case tagging.NoteKind:
		return l.addNote(e)
	case tagging.RetractionKind:
		return l.retract(e)
	}
	if e.RecordingID != 0 && l.recordings[e.RecordingID] != l.sessions[e.BallID] {
		return fault.New(fault.Invalid, "", "The drawing lies on a recording that is not of this session. Reload the ball.",
			fault.Field{Name: "recording_id", Reason: "must be a recording of the ball's session"})
	}
	l.put(e, nil)
	return nil
}

func (l *ledger) addTerm(e tagging.Entry) error {
	if !l.edition.Offers(e.Group, e.Term) {
		return fault.New(fault.Invalid, "", fmt.Sprintf("The vocabulary does not offer %q in %q any more. Reload the page.", e.Term, e.Group),
			fault.Field{Name: "term", Reason: "must be offered by the vocabulary"})
	}
	group, _ := l.edition.Group(e.Group)
	var earlier []*ledgerEntry
	for _, o := range l.order {
		mine := o.Holds && o.Kind == tagging.TermKind && o.DeliveryID == e.BallID && o.AccountID == l.viewer.AccountID && o.GroupKey == e.Group
		if mine && (!group.Many || o.TermKey == e.Term) {
			earlier = append(earlier, o)
		}
	}
	// An entry follows one other. More than one holds only if several might when they were said.
	for len(earlier) > 1 {
		l.put(tagging.Entry{UUID: uuid.New(), BallID: e.BallID, Kind: tagging.RetractionKind}, earlier[0])
		earlier = earlier[1:]
	}
	earlier = append(earlier, nil)
	l.put(e, earlier[0])
	return nil
}

func (l *ledger) addNote(e tagging.Entry) error {
	if e.Retracts == uuid.Nil {
		l.put(e, nil)
		return nil
	}
	earlier, err := l.own(e)
	if err != nil {
		return err
	}
	if earlier.Kind != tagging.NoteKind {
		return fault.New(fault.Invalid, "", "A note can only correct a note.", fault.Field{Name: "retracts", Reason: "must be a note"})
	}
	// Corrected from two pages: the later correction follows the earlier one.
	for earlier.GoneBy != nil {
		earlier = l.entries[*earlier.GoneBy]
	}
	if !earlier.Holds { // taken back meanwhile: the new text stands by itself
		earlier = nil
	}
	l.put(e, earlier)
	return nil
}

func (l *ledger) retract(e tagging.Entry) error {
	earlier, err := l.own(e)
	if err != nil {
		return err
	}
	if earlier.Kind == tagging.RetractionKind {
		return fault.New(fault.Invalid, "", "Taking back can't be taken back. Say it anew.", fault.Field{Name: "retracts", Reason: "is a retraction"})
	}
	if earlier.Holds {
		l.put(e, earlier)
	} // else it is gone already, and that is what was asked for
	return nil
}

// own finds the entry that another one speaks of: of the same coder, on the
// same ball.
func (l *ledger) own(e tagging.Entry) (*ledgerEntry, error) {
	earlier := l.entries[e.Retracts]
	if earlier == nil || earlier.DeliveryID != e.BallID {
		return nil, absent("What this takes back or corrects is not on this ball. Reload the ball.")
	}
	if earlier.AccountID != l.viewer.AccountID {
		return nil, fault.New(fault.Forbidden, "", "Only who said something can take it back or correct it. Add what you see yourself.")
	}
	return earlier, nil
}

// put adds an entry's row, and what it does to the one it follows.
func (l *ledger) put(e tagging.Entry, earlier *ledgerEntry) {
	added := &ledgerEntry{
		UUID: e.UUID, DeliveryID: e.BallID, AccountID: l.viewer.AccountID, Kind: e.Kind, Holds: e.Kind != tagging.RetractionKind,
	}
	a := args{
		"uuid": e.UUID, "ball": e.BallID, "account": l.viewer.AccountID, "kind": e.Kind, "at": e.At, "until": e.Until,
		"group": "", "term": "", "edition": 0, "wording": "", "body": "", "drawing": nil, "recording": int64(0),
		"supersedes": nil, "holds": added.Holds,
	}
	switch e.Kind {
	case tagging.TermKind:
		term, _ := l.edition.Term(e.Group, e.Term)
		added.GroupKey, added.TermKey = e.Group, e.Term
		a["group"], a["term"], a["edition"], a["wording"] = e.Group, e.Term, l.edition.Number, term.Name
	case tagging.NoteKind:
		a["body"] = e.Body
	case tagging.DrawingKind:
		a["drawing"], a["recording"] = e.Drawing, e.RecordingID
	case tagging.RetractionKind:
	}
	if earlier != nil {
		earlier.Holds, earlier.GoneBy = false, &added.UUID
		a["supersedes"] = earlier.UUID
	}
	l.know(added)
	l.batch.Queue(sqlAddObservation, a)
}

// write sends all rows at once, and brings what is searched up to date.
func (l *ledger) write(ctx context.Context, tx pgx.Tx, balls []int64) error {
	if l.batch.Len() == 0 {
		return nil
	}
	for _, sql := range []string{sqlDropCoding, sqlAddCoding, sqlSettleCodes, sqlSettleKnownOfBalls} {
		l.batch.Queue(sql, args{"balls": balls})
	}
	return tx.SendBatch(ctx, &l.batch).Close()
}
