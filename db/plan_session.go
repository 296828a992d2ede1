package db

import (
	"context"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"netreel/media"
	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/plan"
)

const (
	sqlPlanBecame = `UPDATE plan SET session_id = @session, updated_at = now() WHERE id = @id`

	sqlLinkBlock = `UPDATE block SET plan_id = @plan, plan_block = @place WHERE id = @id`

	sqlPlansOfBlocks = `
		SELECT id, blocks FROM plan WHERE id IN (SELECT plan_id FROM block WHERE session_id = @session AND plan_id IS NOT NULL)`

	sqlCodesOf = `
		SELECT id, coalesce(block_id, 0) AS block_id, codes, start_us, contact_us, end_us FROM delivery
		WHERE session_id = @session AND state <> 'discarded' ORDER BY number`
)

// PlanBecomes makes a session of a plan, or joins the plan to a session that
// is there: one without blocks gets the plan's, laid end to end from its
// start; the blocks of another are taken for the plan's in order.
func (s *Store) PlanBecomes(ctx context.Context, v tagging.Viewer, id, sessionID int64, heldOn, place string) (made tagging.Session, err error) {
	err = s.inTx(ctx, "db.PlanBecomes", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		p, err := planBy(ctx, tx, sqlLockPlan, v, id)
		if err != nil {
			return err
		}
		if p.SessionID != 0 {
			return fault.New(fault.Conflict, "", "A session was made of this plan already. Open that one, or copy the plan.")
		}
		if sessionID == 0 {
			in, err := checkSession(ctx, tx, v, tagging.SessionInput{Title: p.Title, HeldOn: heldOn, Place: place, Note: p.Note, Players: p.Players()})
			if err != nil {
				return err
			}
			if sessionID, err = writeSession(ctx, tx, v, 0, in); err != nil {
				return err
			}
		}
		if err := joinPlan(ctx, tx, v, p, sessionID); err != nil {
			return err
		}
		if made, err = session(ctx, tx, v, sessionID); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "plan", ID: id},
			tagging.Event{Topic: "session", ID: sessionID, Session: sessionID}, tagging.Event{Topic: "lane", ID: sessionID, Session: sessionID})
	})
	return made, err
}

// joinPlan gives a session the plan's blocks, or its blocks the plan's places.
func joinPlan(ctx context.Context, tx pgx.Tx, v tagging.Viewer, p plan.Plan, sessionID int64) error {
	if err := lockSession(ctx, tx, v, sessionID); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, sqlPlanBecame, args{"id": p.ID, "session": sessionID}); err != nil {
		return err
	}
	there, err := blocks(ctx, tx, sessionID)
	if err != nil {
		return err
	}
	if len(there) == 0 {
		if err := saveBlocks(ctx, tx, sessionID, plannedBlocks(p)); err != nil {
			return err
		}
		return settle(ctx, tx, sessionID)
	}
	for i, b := range there[:min(len(there), len(p.Blocks))] {
		if _, err := tx.Exec(ctx, sqlLinkBlock, args{"id": b.ID, "plan": p.ID, "place": i}); err != nil {
			return err
		}
	}
	return nil
}

// plannedBlocks lays a plan's blocks end to end from the session's start.
func plannedBlocks(p plan.Plan) []tagging.Block {
	out := make([]tagging.Block, len(p.Blocks))
	var from media.Micros
	for i, b := range p.Blocks {
		to := from + max(media.FromSeconds(b.Length()), media.Second)
		out[i] = plannedBlock(p, i, media.Span{Start: from, End: to})
		from = to
	}
	return out
}

func plannedBlock(p plan.Plan, i int, span media.Span) tagging.Block {
	b := p.Blocks[i]
	player := b.PlayerID
	if player == 0 {
		player = p.PlayerID
	}
	return tagging.Block{
		Name: b.Name, Span: span, PlayerID: player, Bowling: b.Bowling, Feed: b.Feed, Bat: b.Bat, Aim: b.Balls(),
		Feeder: b.Feeder, SpeedKPH: b.SpeedKPH, PlanID: p.ID, PlanBlock: i,
	}
}

// Proposals lists what is likely to hold on a session's balls and nobody has
// said yet, by the feeder's card and by what was pressed at the net. A ball
// that more than one planned ball might be has none from the card.
func (s *Store) Proposals(ctx context.Context, v tagging.Viewer, sessionID int64) (list []tagging.Proposal, err error) {
	err = s.read(ctx, "db.Proposals", func(tx pgx.Tx) error {
		if err := staffRead(v, noSession); err != nil {
			return err
		}
		if _, err := session(ctx, tx, v, sessionID); err != nil {
			return err
		}
		codes, err := all[codedBall](ctx, tx, sqlCodesOf, args{"session": sessionID})
		if err != nil {
			return err
		}
		n, err := netOf(ctx, tx, sessionID)
		if err != nil {
			return err
		}
		if list, err = planned(ctx, tx, sessionID, codes, n); err != nil {
			return err
		}
		said := map[int64]codedBall{}
		for _, b := range codes {
			said[b.ID] = b
		}
		for _, m := range n.Marks {
			if m.Kind == tagging.TermMark && m.BallID != 0 && !slices.Contains(said[m.BallID].Codes, m.Group+"="+m.Term) {
				list = append(list, tagging.Proposal{BallID: m.BallID, Group: m.Group, Term: m.Term, From: "net"})
			}
		}
		return nil
	})
	return list, err
}

type codedBall struct {
	ID, BlockID    int64
	Codes          []string
	StartUS, EndUS media.Micros
	ContactUS      *media.Micros
}

// moment is when it was, in seconds of the session clock.
func (b codedBall) moment() float64 {
	return tagging.Moment(media.Span{Start: b.StartUS, End: b.EndUS}, b.ContactUS).Seconds()
}

// term is what was coded of a group; "" when nothing was.
func (b codedBall) term(group string) string {
	for _, c := range b.Codes {
		if term, ok := strings.CutPrefix(c, group+"="); ok {
			return term
		}
	}
	return ""
}

// planned matches the balls of each block with those that its plan had, by
// their order, what was coded, and when the feeder pressed the card.
func planned(ctx context.Context, tx pgx.Tx, sessionID int64, codes []codedBall, n tagging.Net) ([]tagging.Proposal, error) {
	plans, err := all[struct {
		ID     int64
		Blocks []plan.Block
	}](ctx, tx, sqlPlansOfBlocks, args{"session": sessionID})
	if err != nil {
		return nil, err
	}
	there, err := blocks(ctx, tx, sessionID)
	if err != nil {
		return nil, err
	}
	var out []tagging.Proposal
	for _, b := range there {
		for _, p := range plans {
			if p.ID == b.PlanID && b.PlanBlock < len(p.Blocks) {
				of := slices.DeleteFunc(slices.Clone(codes), func(c codedBall) bool { return c.BlockID != b.ID })
				out = append(out, proposed(p.Blocks[b.PlanBlock], of, tapsOf(n, b.PlanBlock), clockDoubt[n.Zero.By])...)
			}
		}
	}
	return out, nil
}

// tapsOf is what was pressed on a block's card.
func tapsOf(n tagging.Net, block int) []plan.Tap {
	var taps []plan.Tap
	for _, m := range n.Marks {
		if m.Kind == tagging.GivenMark && m.At != nil && m.Block != nil && *m.Block == block && m.Ball != nil {
			taps = append(taps, plan.Tap{Planned: *m.Ball, At: m.At.Seconds()})
		}
	}
	return taps
}

// clockDoubt is by how many seconds the phone's time of a ball may be off the
// recording's, by how it was laid; a feeder's slow hand is in it. Judgement,
// no source: cameras' clocks are off by a minute or two, and filming begins
// some time before or after the start is pressed.
var clockDoubt = map[tagging.ZeroBy]float64{tagging.ByClap: 5, tagging.ByHand: 5, tagging.ByRecording: 120, tagging.ByStart: 120}

func proposed(b plan.Block, balls []codedBall, taps []plan.Tap, off float64) []tagging.Proposal {
	seen, at := make([]int, len(balls)), make([]float64, len(balls))
	for i, ball := range balls {
		at[i] = ball.moment()
		seen[i] = plan.SeenAs(b.Types, ball.term("length"), ball.term("line"), ball.term("height"))
	}
	var out []tagging.Proposal
	for _, m := range plan.AlignTimed(b.Sequence, seen, at, taps, off) {
		if !m.Sure || m.Slip {
			continue
		}
		ball, t := balls[m.Delivered], b.Types[b.Sequence[m.Planned]]
		for _, of := range [][2]string{{"length", t.Length}, {"line", t.Line}, {"height", t.Height}} {
			if of[1] != "" && ball.term(of[0]) == "" {
				out = append(out, tagging.Proposal{BallID: ball.ID, Group: of[0], Term: of[1], From: "plan"})
			}
		}
	}
	return out
}
