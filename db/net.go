package db

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"netreel/media"
	"netreel/media/fault"
	"netreel/tagging"
)

const (
	sqlSessionByUUID = `SELECT id FROM net_session WHERE uuid = @uuid`

	sqlNumberSession = `UPDATE net_session SET uuid = @uuid WHERE id = @id`

	// Not while the session is being deleted.
	sqlSessionThere = `SELECT id FROM net_session WHERE id = @id AND squad_id = @squad FOR KEY SHARE`

	sqlAddMark = `
		INSERT INTO net_mark (uuid, session_id, account_id, kind, made_at, doubt_ms, plan_block, plan_ball, group_key, term_key,
			body, undoes)
		VALUES (@uuid, @session, @account, @kind, @made, @doubt, @block, @ball, @group, @term, @body, @undoes)
		ON CONFLICT (uuid) DO NOTHING`

	sqlMarks = `
		SELECT m.uuid, a.name AS who, m.kind, m.made_at AS made, m.doubt_ms, m.plan_block AS block, m.plan_ball AS ball,
			m.group_key AS "group", m.term_key AS term, m.body
		FROM net_mark m JOIN account a ON a.id = m.account_id
		WHERE m.session_id = @session AND m.kind <> 'undo'
			AND NOT EXISTS (SELECT FROM net_mark u WHERE u.undoes = m.uuid AND u.session_id = m.session_id)
		ORDER BY m.made_at, m.received_at, m.uuid`

	sqlZero = `SELECT zero_at AS at, zero_by AS by FROM net_session WHERE id = @session`

	sqlSetZero = `UPDATE net_session SET zero_at = @at, zero_by = @by WHERE id = @session`

	sqlRecordingStarts = `
		SELECT (probe->>'CreatedAt')::timestamptz AS created, offset_us FROM recording
		WHERE session_id = @session AND probe->>'CreatedAt' IS NOT NULL ORDER BY id`
)

// TakeMarks keeps what a phone sends and returns the session that it is of.
// Sent again, in part or in whole, by one phone or two, each mark is there
// once. A session that began at the net is made with the first of its marks.
func (s *Store) TakeMarks(ctx context.Context, v tagging.Viewer, in tagging.NetBatch) (sessionID int64, err error) {
	err = s.inTx(ctx, "db.TakeMarks", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		if len(in.Marks) > tagging.MaxMarks {
			return fault.New(fault.Invalid, "", fmt.Sprintf("Send %d marks at a time at most.", tagging.MaxMarks))
		}
		for _, m := range in.Marks {
			if err := m.Validate(); err != nil {
				return err
			}
		}
		if sessionID, err = netSession(ctx, tx, v, in); err != nil {
			return err
		}
		batch := &pgx.Batch{}
		for _, m := range in.Marks {
			var undoes *uuid.UUID
			if m.Kind == tagging.UndoMark {
				undoes = &m.Undoes
			}
			batch.Queue(sqlAddMark, args{
				"uuid": m.UUID, "session": sessionID, "account": v.AccountID, "kind": m.Kind, "made": m.Made,
				"doubt": m.Doubt.Milliseconds(), "block": m.Block, "ball": m.Ball, "group": m.Group, "term": m.Term,
				"body": m.Body, "undoes": undoes,
			})
		}
		if err := tx.SendBatch(ctx, batch).Close(); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "net", ID: sessionID, Session: sessionID})
	})
	return sessionID, err
}

// netSession finds the session of a batch, or makes the one that began at the
// net.
func netSession(ctx context.Context, tx pgx.Tx, v tagging.Viewer, in tagging.NetBatch) (int64, error) {
	id := in.SessionID
	if in.New != nil {
		if in.New.UUID == uuid.Nil {
			return 0, fault.New(fault.Invalid, "", "The session has no number of its own. Reload the page.", fault.Field{Name: "new.uuid", Reason: "is missing"})
		}
		// Two phones, or one that sends twice, take turns here.
		if _, err := tx.Exec(ctx, sqlLockSquad, args{"squad": v.SquadID}); err != nil {
			return 0, err
		}
		there, err := value[int64](ctx, tx, sqlSessionByUUID, args{"uuid": in.New.UUID})
		if errors.Is(err, pgx.ErrNoRows) {
			return beginAtNet(ctx, tx, v, *in.New)
		}
		if err != nil {
			return 0, err
		}
		id = there
	}
	_, err := value[int64](ctx, tx, sqlSessionThere, args{"id": id, "squad": v.SquadID})
	if errors.Is(err, pgx.ErrNoRows) {
		err = absent(noSession)
	}
	return id, err
}

func beginAtNet(ctx context.Context, tx pgx.Tx, v tagging.Viewer, n tagging.NetSession) (int64, error) {
	in := tagging.SessionInput{Title: n.Title, HeldOn: n.HeldOn}
	p, err := planBy(ctx, tx, sqlLockPlan, v, n.PlanID)
	switch {
	case fault.KindOf(err) == fault.NotFound:
		p.ID = 0 // none, or deleted meanwhile: the marks are kept all the same
	case err != nil:
		return 0, err
	default:
		in.Players = p.Players()
	}
	if in, err = checkSession(ctx, tx, v, in); err != nil {
		return 0, err
	}
	id, err := writeSession(ctx, tx, v, 0, in)
	if err != nil {
		return 0, err
	}
	if _, err := tx.Exec(ctx, sqlNumberSession, args{"id": id, "uuid": n.UUID}); err != nil {
		return 0, err
	}
	if p.ID != 0 && p.SessionID == 0 {
		if err := joinPlan(ctx, tx, v, p, id); err != nil {
			return 0, err
		}
	}
	return id, tell(ctx, tx, v.SquadID, tagging.Event{Topic: "session", ID: id, Session: id})
}

// Net returns what was noted at the net of a session, to staff, on the session
// clock where that can be said.
func (s *Store) Net(ctx context.Context, v tagging.Viewer, sessionID int64) (n tagging.Net, err error) {
	err = s.read(ctx, "db.Net", func(tx pgx.Tx) error {
		if err := staffRead(v, noSession); err != nil {
			return err
		}
		if _, err := session(ctx, tx, v, sessionID); err != nil {
			return err
		}
		n, err = netOf(ctx, tx, sessionID)
		return err
	})
	return n, err
}

type markRow struct {
	UUID              uuid.UUID
	Who               string
	Kind              tagging.MarkKind
	Made              time.Time
	DoubtMS           int
	Block, Ball       *int
	Group, Term, Body string
}

func netOf(ctx context.Context, tx pgx.Tx, sessionID int64) (tagging.Net, error) {
	var n tagging.Net
	rows, err := all[markRow](ctx, tx, sqlMarks, args{"session": sessionID})
	if err != nil {
		return n, err
	}
	if err := zeroOf(ctx, tx, sessionID, rows, &n); err != nil {
		return n, err
	}
	balls, err := all[ballRow](ctx, tx, sqlLaneBalls, args{"session": sessionID})
	if err != nil {
		return n, err
	}
	played := make([]tagging.Ball, len(balls))
	for i, b := range balls {
		played[i] = b.ball()
	}
	for _, r := range rows {
		m := tagging.Mark{
			UUID: r.UUID, Who: r.Who, Kind: r.Kind, Made: r.Made, Doubt: time.Duration(r.DoubtMS) * time.Millisecond,
			Block: r.Block, Ball: r.Ball, Group: r.Group, Term: r.Term, Body: r.Body,
		}
		if n.Zero.At != nil {
			at := media.Micros(m.Made.Sub(*n.Zero.At).Microseconds())
			m.At = &at
			if m.Kind.Of() {
				m.BallID = tagging.MarkedBall(at, played)
			}
		}
		n.Marks = append(n.Marks, m)
	}
	return n, nil
}

// zeroOf says where the session's clock is zero: as a person chose, else by
// the first recording whose camera wrote the time, else at the start mark.
func zeroOf(ctx context.Context, tx pgx.Tx, sessionID int64, marks []markRow, n *tagging.Net) error {
	starts, err := all[struct {
		Created  time.Time
		OffsetUS media.Micros
	}](ctx, tx, sqlRecordingStarts, args{"session": sessionID})
	if err != nil {
		return err
	}
	for _, r := range starts {
		at := r.Created.Add(-r.OffsetUS.Duration())
		n.Ways = append(n.Ways, tagging.Zero{At: &at, By: tagging.ByRecording})
	}
	for _, m := range marks {
		if m.Kind == tagging.StartMark {
			n.Ways = append(n.Ways, tagging.Zero{At: &m.Made, By: tagging.ByStart})
			break
		}
	}
	if n.Zero, err = one[tagging.Zero](ctx, tx, sqlZero, args{"session": sessionID}); err != nil {
		return err
	}
	n.Chosen = n.Zero.At != nil
	if !n.Chosen && len(n.Ways) > 0 {
		n.Zero = n.Ways[0]
	}
	return nil
}
