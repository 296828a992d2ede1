package db

import (
	"context"

	"github.com/jackc/pgx/v5"

	"netreel/media"
	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/plan"
)

const sqlPlanOfSession = planQuery + ` AND p.session_id = @session`

// SetZero lays a session's clock on the wall clock, and with it every mark of
// the net; ByNothing leaves it to what is known.
func (s *Store) SetZero(ctx context.Context, v tagging.Viewer, sessionID int64, z tagging.Zero) (n tagging.Net, err error) {
	err = s.inTx(ctx, "db.SetZero", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		if err := lockSession(ctx, tx, v, sessionID); err != nil {
			return err
		}
		if (z.By == tagging.ByNothing) != (z.At == nil) {
			return fault.New(fault.Invalid, "", "Say when the session's clock was zero, and how you know.",
				fault.Field{Name: "zero_at", Reason: "belongs to a way of knowing it"})
		}
		if _, err := tx.Exec(ctx, sqlSetZero, args{"session": sessionID, "at": z.At, "by": z.By}); err != nil {
			return err
		}
		if n, err = netOf(ctx, tx, sessionID); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "net", ID: sessionID, Session: sessionID})
	})
	return n, err
}

// NetBlocks makes the session's blocks begin where they did at the net. They
// replace those that are there.
func (s *Store) NetBlocks(ctx context.Context, v tagging.Viewer, sessionID int64) (saved []tagging.Block, err error) {
	err = s.inTx(ctx, "db.NetBlocks", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		if err := lockSession(ctx, tx, v, sessionID); err != nil {
			return err
		}
		n, err := netOf(ctx, tx, sessionID)
		if err != nil {
			return err
		}
		plans, err := all[planRow](ctx, tx, sqlPlanOfSession, args{"squad": v.SquadID, "session": sessionID})
		if err != nil {
			return err
		}
		var p plan.Plan
		if len(plans) > 0 {
			p = plan.Plan(plans[0])
		}
		balls, err := all[ballRow](ctx, tx, sqlLaneBalls, args{"session": sessionID})
		if err != nil {
			return err
		}
		var end media.Micros
		for _, b := range balls {
			end = max(end, b.EndUS)
		}
		made, err := markedBlocks(n, p, end)
		if err != nil {
			return err
		}
		if err := saveBlocks(ctx, tx, sessionID, made); err != nil {
			return err
		}
		if err := settle(ctx, tx, sessionID); err != nil {
			return err
		}
		if saved, err = blocks(ctx, tx, sessionID); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "lane", ID: sessionID, Session: sessionID})
	})
	return saved, err
}

// markedBlocks lays a block from each block mark to the next; the last one
// ends with the last mark or ball. What lies before the session's start is cut
// off.
func markedBlocks(n tagging.Net, p plan.Plan, end media.Micros) ([]tagging.Block, error) {
	var begun []tagging.Mark
	for _, m := range n.Marks {
		if m.At == nil {
			return nil, fault.New(fault.Invalid, "", "First say how the phone's clock lies to the recording's.")
		}
		end = max(end, *m.At)
		if m.Kind == tagging.BlockMark {
			begun = append(begun, m)
		}
	}
	if len(begun) == 0 {
		return nil, fault.New(fault.Invalid, "", "No block was begun at the net. Set the blocks on the lane instead.")
	}
	var out []tagging.Block
	for i, m := range begun {
		span := media.Span{Start: max(0, *m.At), End: end}
		if i+1 < len(begun) {
			span.End = *begun[i+1].At
		}
		if span.End <= span.Start {
			continue
		}
		b := tagging.Block{Name: m.Body, Span: span}
		if m.Block != nil && *m.Block < len(p.Blocks) {
			b = plannedBlock(p, *m.Block, span)
		}
		if b.Name == "" {
			b.Name = "Block"
		}
		out = append(out, b)
	}
	return out, nil
}
