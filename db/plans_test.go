package db_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/plan"
)

// practice is a plan of two blocks for the first player.
func (w *world) practice() plan.Plan {
	w.t.Helper()
	p, err := w.store.SavePlan(w.t.Context(), w.coach, plan.Plan{
		Title: "Short, then full", PlayerID: w.players[0].ID, Minutes: 20, WorkOn: []string{"shot=pull"}, Helmets: true,
		Blocks: []plan.Block{{
			Name: "Warm-up", Feed: "throw-down", Feeder: "Ada Marsh", Pace: 10, Pause: 30, Order: plan.Serial,
			Types: []plan.Type{{Name: "Good", Length: "good", Balls: 2}, {Name: "Short", Length: "short", Height: "chest", Balls: 2}},
		}, {
			Name: "Mixed", Feed: "side-arm", Feeder: "Ada Marsh", SpeedKPH: 105, Pace: 20, Order: plan.Random, Alike: 2,
			Types: []plan.Type{{Name: "Full", Length: "full", Balls: 3}, {Name: "Short", Length: "short", Balls: 3}},
		}},
	})
	require.NoError(w.t, err)
	return p
}

func TestPlans(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	p := w.practice()
	assert.Equal(t, plan.Sequence{0, 1, 0, 1}, p.Blocks[0].Sequence)
	assert.Len(t, p.Blocks[1].Sequence, 6)
	assert.NotZero(t, p.Blocks[1].Seed, "a seed was given")
	assert.Equal(t, "Ada Marsh", p.MadeBy)

	again := p
	again.Title = "Shorter"
	saved, err := w.store.SavePlan(ctx, w.analyst, again)
	require.NoError(t, err)
	assert.Equal(t, p.Blocks[1].Sequence, saved.Blocks[1].Sequence, "the same seed, the same order")
	_, err = w.store.SavePlan(ctx, w.coach, again)
	assertKind(t, fault.Conflict, err)

	for name, change := range map[string]func(*plan.Plan){
		"no title":             func(p *plan.Plan) { p.Title = " " },
		"a term not there":     func(p *plan.Plan) { p.WorkOn = []string{"shot=swat"} },
		"a feed not there":     func(p *plan.Plan) { p.Blocks[0].Feed = "catapult" },
		"a player not there":   func(p *plan.Plan) { p.Blocks[1].PlayerID = 999 },
		"nine and one":         func(p *plan.Plan) { p.Blocks[1].Types[0].Balls, p.Blocks[1].Types[1].Balls = 9, 1 },
		"no pace":              func(p *plan.Plan) { p.Blocks[0].Pace = 0 },
		"a length not there":   func(p *plan.Plan) { p.Blocks[0].Types[0].Length = "long" },
		"more than can be fed": func(p *plan.Plan) { p.Blocks[0].Types[0].Balls = 61 },
	} {
		bad := saved
		bad.Blocks = []plan.Block{saved.Blocks[0], saved.Blocks[1]}
		for i := range bad.Blocks {
			bad.Blocks[i].Types = append([]plan.Type{}, bad.Blocks[i].Types...)
		}
		change(&bad)
		_, err := w.store.SavePlan(ctx, w.coach, bad)
		assert.Equal(t, fault.Invalid, fault.KindOf(err), name)
	}

	_, err = w.store.Plan(ctx, w.asPlayer[0], p.ID)
	assertKind(t, fault.NotFound, err)
	_, err = w.store.Plans(ctx, w.asPlayer[0])
	assertKind(t, fault.Forbidden, err)
	_, err = w.store.Plan(ctx, w.stranger, p.ID)
	assertKind(t, fault.NotFound, err)
	assertKind(t, fault.NotFound, w.store.DeletePlan(ctx, w.stranger, p.ID))
	list, err := w.store.Plans(ctx, w.coach)
	require.NoError(t, err)
	assert.Len(t, list, 1)
	require.NoError(t, w.store.DeletePlan(ctx, w.coach, p.ID))
	_, err = w.store.Plan(ctx, w.coach, p.ID)
	assertKind(t, fault.NotFound, err)
}

func TestPlanBecomesASession(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	p := w.practice()
	s, err := w.store.PlanBecomes(ctx, w.coach, p.ID, 0, "2026-02-01", "Hall")
	require.NoError(t, err)
	assert.Equal(t, "Short, then full", s.Title)
	require.Len(t, s.Players, 1)
	lane, err := w.store.Lane(ctx, w.coach, s.ID)
	require.NoError(t, err)
	require.Len(t, lane.Blocks, 2)
	assert.Equal(t, media.Span{Start: 70 * media.Second, End: 190 * media.Second}, lane.Blocks[1].Span, "4 balls of 10 s and a pause of 30")
	assert.Equal(t, p.ID, lane.Blocks[1].PlanID)
	assert.Equal(t, 1, lane.Blocks[1].PlanBlock)
	assert.InDelta(t, 105, lane.Blocks[1].SpeedKPH, 0)

	// Moving a block on the lane keeps what it was planned as.
	lane.Blocks[1].Span.End += media.Second
	kept, err := w.store.SetBlocks(ctx, w.coach, s.ID, lane.Blocks)
	require.NoError(t, err)
	assert.Equal(t, lane.Blocks, kept)
	_, err = w.store.PlanBecomes(ctx, w.coach, p.ID, 0, "2026-02-02", "")
	assertKind(t, fault.Conflict, err)
	_, err = w.store.PlanBecomes(ctx, w.stranger, p.ID, 0, "2026-02-02", "")
	assertKind(t, fault.NotFound, err)

	// A plan may join a session whose blocks are there, and one session has one plan.
	other := w.practice()
	id := w.session(w.players[0].ID)
	_, err = w.store.SetBlocks(ctx, w.coach, id, []tagging.Block{{Name: "Nets", Span: media.Span{End: 60 * media.Second}}})
	require.NoError(t, err)
	_, err = w.store.PlanBecomes(ctx, w.coach, other.ID, id, "", "")
	require.NoError(t, err)
	lane, err = w.store.Lane(ctx, w.coach, id)
	require.NoError(t, err)
	require.Len(t, lane.Blocks, 1)
	assert.Equal(t, other.ID, lane.Blocks[0].PlanID)
	_, err = w.store.PlanBecomes(ctx, w.coach, w.practice().ID, id, "", "")
	assertKind(t, fault.Conflict, err)
}

// TestProposals plans good, short, good, short for a block in which five balls
// were delivered, one of them too many.
func TestProposals(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(5)
	_, err := w.store.SetBlocks(ctx, w.coach, id, []tagging.Block{{Name: "Nets", Span: media.Span{End: 600 * media.Second}}})
	require.NoError(t, err)
	none, err := w.store.Proposals(ctx, w.coach, id)
	require.NoError(t, err)
	assert.Empty(t, none)
	_, err = w.store.PlanBecomes(ctx, w.coach, w.practice().ID, id, "", "")
	require.NoError(t, err)
	none, err = w.store.Proposals(ctx, w.coach, id)
	require.NoError(t, err)
	assert.Empty(t, none, "five balls for four: nobody can say yet which was too many")

	balls := w.balls(id)
	w.say(w.coach, term(balls[0].ID, "length", "good"), term(balls[1].ID, "length", "short"), term(balls[2].ID, "length", "short"))
	got, err := w.store.Proposals(ctx, w.coach, id)
	require.NoError(t, err)
	assert.Contains(t, got, tagging.Proposal{BallID: balls[3].ID, Group: "length", Term: "good", From: "plan"})
	w.say(w.coach, term(balls[3].ID, "length", "good"))
	got, err = w.store.Proposals(ctx, w.coach, id)
	require.NoError(t, err)
	assert.Contains(t, got, tagging.Proposal{BallID: balls[4].ID, Group: "length", Term: "short", From: "plan"})
	assert.Contains(t, got, tagging.Proposal{BallID: balls[4].ID, Group: "height", Term: "chest", From: "plan"})
	for _, p := range got {
		assert.NotEqual(t, balls[3].ID, p.BallID, "nobody proposes what was said")
		assert.NotContains(t, []int64{balls[1].ID, balls[2].ID}, p.BallID, "either may be the one too many")
	}
	w.say(w.coach, term(balls[4].ID, "length", "short"), term(balls[4].ID, "height", "head"))
	got, err = w.store.Proposals(ctx, w.coach, id)
	require.NoError(t, err)
	assert.Empty(t, got)

	_, err = w.store.Proposals(ctx, w.asPlayer[0], id)
	assertKind(t, fault.NotFound, err)
	_, err = w.store.Proposals(ctx, w.stranger, id)
	assertKind(t, fault.NotFound, err)
}

// TestProposalsByTaps: of the same five balls the feeder pressed the card at
// all but the fourth, which tells which was too many.
func TestProposalsByTaps(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(5)
	_, err := w.store.SetBlocks(ctx, w.coach, id, []tagging.Block{{Name: "Nets", Span: media.Span{End: 600 * media.Second}}})
	require.NoError(t, err)
	_, err = w.store.PlanBecomes(ctx, w.coach, w.practice().ID, id, "", "")
	require.NoError(t, err)
	balls := w.balls(id)
	block := 0
	var marks []tagging.Mark
	for n, i := range []int{0, 1, 2, 4} {
		m := pressed(tagging.Moment(balls[i].Span, balls[i].Contact).Seconds()+1, tagging.GivenMark)
		m.Block, m.Ball = &block, &n
		marks = append(marks, m)
	}
	_, err = w.store.TakeMarks(ctx, w.coach, tagging.NetBatch{SessionID: id, Marks: marks})
	require.NoError(t, err)
	got, err := w.store.Proposals(ctx, w.coach, id)
	require.NoError(t, err)
	assert.Empty(t, got, "nobody can say how the phone's clock lies")
	_, err = w.store.SetZero(ctx, w.coach, id, tagging.Zero{At: &tenOClock, By: tagging.ByClap})
	require.NoError(t, err)
	got, err = w.store.Proposals(ctx, w.coach, id)
	require.NoError(t, err)
	lengths := map[int64]string{}
	for _, p := range got {
		if p.Group == "length" {
			lengths[p.BallID] = p.Term
		}
	}
	assert.Equal(t, map[int64]string{balls[0].ID: "good", balls[1].ID: "short", balls[2].ID: "good", balls[4].ID: "short"}, lengths)
}

func TestCells(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(4)
	balls := w.balls(id)
	w.say(w.coach,
		term(balls[0].ID, "length", "short"), term(balls[0].ID, "contact", "missed"),
		term(balls[1].ID, "length", "short"), term(balls[1].ID, "contact", "middled"),
		term(balls[2].ID, "length", "full"), term(balls[2].ID, "contact", "none"), // nothing played at: neither
		term(balls[3].ID, "length", "full"))
	cells, err := w.store.Cells(ctx, w.coach, w.players[0].ID, "length", []string{"short", "full"})
	require.NoError(t, err)
	require.Len(t, cells, 2)
	assert.Equal(t, "full", cells[0].Term, "in the vocabulary's order")
	assert.Equal(t, [4]int{0, 0, 2, 1}, [4]int{cells[0].Balls, cells[0].Bad, cells[1].Balls, cells[1].Bad})
	assert.InDelta(t, 0.5, cells[1].Share, 1e-9, "two balls tell nothing")
	all, err := w.store.Cells(ctx, w.coach, w.players[0].ID, "length", nil)
	require.NoError(t, err)
	assert.Len(t, all, 6)
	_, err = w.store.Cells(ctx, w.coach, w.players[0].ID, "width", nil)
	assertKind(t, fault.Invalid, err)
	_, err = w.store.Cells(ctx, w.stranger, w.players[0].ID, "length", nil)
	assertKind(t, fault.NotFound, err)
}
