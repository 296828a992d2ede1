package db_test

import (
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/lookback"
	"netreel/tagging/plan"
)

var tenOClock = time.Date(2026, 2, 1, 10, 0, 0, 0, time.UTC)

// pressed is a mark so many seconds after ten o'clock.
func pressed(seconds float64, kind tagging.MarkKind) tagging.Mark {
	return tagging.Mark{UUID: uuid.New(), Kind: kind, Made: tenOClock.Add(media.FromSeconds(seconds).Duration())}
}

func (w *world) net(session int64) tagging.Net {
	w.t.Helper()
	n, err := w.store.Net(w.t.Context(), w.coach, session)
	require.NoError(w.t, err)
	return n
}

// TestMarksAreKeptOnce sends the same marks in two overlapping parts, from two
// accounts, and twice.
func TestMarksAreKeptOnce(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id := w.session(w.players[0].ID)
	var marks []tagging.Mark
	for i := range 10 {
		marks = append(marks, pressed(float64(i), tagging.LookMark))
	}
	for range 2 {
		for _, v := range []tagging.Viewer{w.coach, w.analyst} {
			for _, part := range [][]tagging.Mark{marks[:6], marks[3:]} {
				got, err := w.store.TakeMarks(ctx, v, tagging.NetBatch{SessionID: id, Marks: part})
				require.NoError(t, err)
				require.Equal(t, id, got)
			}
		}
	}
	n := w.net(id)
	require.Len(t, n.Marks, 10)
	assert.Nil(t, n.Marks[0].At, "nobody can say yet when the session's clock was zero")
	undo := pressed(20, tagging.UndoMark)
	undo.Undoes = marks[4].UUID
	_, err := w.store.TakeMarks(ctx, w.coach, tagging.NetBatch{SessionID: id, Marks: []tagging.Mark{undo}})
	require.NoError(t, err)
	assert.Len(t, w.net(id).Marks, 9)

	_, err = w.store.TakeMarks(ctx, w.stranger, tagging.NetBatch{SessionID: id, Marks: marks[:1]})
	assertKind(t, fault.NotFound, err)
	_, err = w.store.TakeMarks(ctx, w.asPlayer[0], tagging.NetBatch{SessionID: id, Marks: marks[:1]})
	assertKind(t, fault.Forbidden, err)
	for name, bad := range map[string]tagging.Mark{
		"no number": {Kind: tagging.LookMark, Made: tenOClock}, "no such kind": pressed(0, "wink"), "no time": {UUID: uuid.New(), Kind: tagging.LookMark},
		"a term of none": pressed(0, tagging.TermMark), "no word": pressed(0, tagging.WordMark), "takes nothing back": pressed(0, tagging.UndoMark),
	} {
		_, err := w.store.TakeMarks(ctx, w.coach, tagging.NetBatch{SessionID: id, Marks: []tagging.Mark{bad}})
		assert.Equal(t, fault.Invalid, fault.KindOf(err), name)
	}
}

// TestSessionBegunAtTheNet is made once, however often the phone sends it, and
// takes the plan's blocks.
func TestSessionBegunAtTheNet(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	p := w.practice()
	batch := tagging.NetBatch{
		New:   &tagging.NetSession{UUID: uuid.New(), Title: "Tuesday", HeldOn: "2026-02-01", PlanID: p.ID},
		Marks: []tagging.Mark{pressed(0, tagging.StartMark)},
	}
	first, err := w.store.TakeMarks(ctx, w.coach, batch)
	require.NoError(t, err)
	again, err := w.store.TakeMarks(ctx, w.analyst, batch)
	require.NoError(t, err)
	assert.Equal(t, first, again)
	lane, err := w.store.Lane(ctx, w.coach, first)
	require.NoError(t, err)
	assert.Len(t, lane.Blocks, 2)
	became, err := w.store.Plan(ctx, w.coach, p.ID)
	require.NoError(t, err)
	assert.Equal(t, first, became.SessionID)
	_, err = w.store.TakeMarks(ctx, w.stranger, batch)
	assertKind(t, fault.NotFound, err)

	batch.New = &tagging.NetSession{UUID: uuid.New(), Title: "Wednesday", HeldOn: "2026-02-02", PlanID: 999}
	batch.Marks = []tagging.Mark{pressed(0, tagging.StartMark)}
	_, err = w.store.TakeMarks(ctx, w.coach, batch)
	require.NoError(t, err, "the plan is gone, the marks are kept")
}

// TestMarksOnTheClock films five balls, 6 s apart with the contact in each 2 s
// after its start, and presses after them.
func TestMarksOnTheClock(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(5)
	balls := w.balls(id)
	moment := func(i int) float64 { return tagging.Moment(balls[i].Span, balls[i].Contact).Seconds() }
	look, back, early := pressed(moment(1)+0.8, tagging.LookMark), pressed(moment(3)+0.5, tagging.TermMark), pressed(moment(0)-0.1, tagging.GoodMark)
	back.Group, back.Term = "feet", "back"
	late := pressed(moment(4)+31, tagging.GoodMark)
	clap := pressed(9, tagging.ClapMark)
	_, err := w.store.TakeMarks(ctx, w.coach, tagging.NetBatch{SessionID: id, Marks: []tagging.Mark{pressed(0, tagging.StartMark), look, back, early, late, clap}})
	require.NoError(t, err)
	n := w.net(id)
	assert.Equal(t, tagging.ByStart, n.Zero.By)
	assert.False(t, n.Chosen)
	on := map[uuid.UUID]int64{}
	for _, m := range n.Marks {
		on[m.UUID] = m.BallID
	}
	assert.Equal(t, balls[1].ID, on[look.UUID])
	assert.Equal(t, balls[3].ID, on[back.UUID])
	assert.Zero(t, on[early.UUID], "before the first ball")
	assert.Zero(t, on[late.UUID], "half a minute after the last")
	proposals, err := w.store.Proposals(ctx, w.coach, id)
	require.NoError(t, err)
	assert.Equal(t, []tagging.Proposal{{BallID: balls[3].ID, Group: "feet", Term: "back", From: "net"}}, proposals)
	w.say(w.coach, term(balls[3].ID, "feet", "back"))
	proposals, err = w.store.Proposals(ctx, w.coach, id)
	require.NoError(t, err)
	assert.Empty(t, proposals, "somebody said so")

	// The clap is heard at 15 s of the session: everything moves by 6 s.
	zero := clap.Made.Add(-15 * time.Second)
	n, err = w.store.SetZero(ctx, w.coach, id, tagging.Zero{At: &zero, By: tagging.ByClap})
	require.NoError(t, err)
	assert.True(t, n.Chosen)
	for _, m := range n.Marks {
		if m.UUID == look.UUID {
			assert.Equal(t, balls[2].ID, m.BallID)
		}
	}
	_, err = w.store.SetZero(ctx, w.coach, id, tagging.Zero{By: tagging.ByClap})
	assertKind(t, fault.Invalid, err)
	n, err = w.store.SetZero(ctx, w.coach, id, tagging.Zero{})
	require.NoError(t, err)
	assert.Equal(t, tagging.ByStart, n.Zero.By)
}

// TestPressedWordIsFelt: the player's word joins what was felt of its ball,
// moves with the clock, is seen by that player alone, and gives way to what is
// said later and to being taken back.
func TestPressedWordIsFelt(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(5)
	balls := w.balls(id)
	ids := make([]int64, len(balls))
	for i, b := range balls {
		ids[i] = b.ID
	}
	word := pressed(tagging.Moment(balls[1].Span, balls[1].Contact).Seconds()+0.8, tagging.WordMark)
	word.Body = "Late"
	send := func(marks ...tagging.Mark) {
		_, err := w.store.TakeMarks(ctx, w.coach, tagging.NetBatch{SessionID: id, Marks: marks})
		require.NoError(t, err)
	}
	felt := func(v tagging.Viewer) map[int64][]string {
		list, err := w.store.Felt(ctx, v, ids, nil)
		require.NoError(t, err)
		of := map[int64][]string{}
		for _, f := range list {
			of[f.Ball] = f.Words
			assert.NotEmpty(t, f.By)
		}
		return of
	}
	send(pressed(0, tagging.StartMark), word)
	assert.Equal(t, map[int64][]string{ids[1]: {"late"}}, felt(w.coach))
	assert.Equal(t, map[int64][]string{ids[1]: {"late"}}, felt(w.asPlayer[0]))
	assert.Empty(t, felt(w.asPlayer[1]))
	assert.Empty(t, felt(w.stranger))

	zero := tenOClock.Add(-6 * time.Second) // each ball comes 6 s after the one before
	_, err := w.store.SetZero(ctx, w.coach, id, tagging.Zero{At: &zero, By: tagging.ByHand})
	require.NoError(t, err)
	assert.Equal(t, map[int64][]string{ids[2]: {"late"}}, felt(w.coach), "the mark lies on another ball now")

	undo := pressed(40, tagging.UndoMark)
	undo.Undoes = word.UUID
	again := word
	again.UUID = uuid.New()
	send(undo)
	assert.Empty(t, felt(w.coach))
	send(again)
	require.NoError(t, w.store.SayFelt(ctx, w.asPlayer[0], uuid.New(), lookback.Felt{Ball: ids[2], Words: []string{"strong"}}))
	assert.Equal(t, map[int64][]string{ids[2]: {"strong"}}, felt(w.coach), "the player has the last word")
	in, err := w.store.Lookback(ctx, w.coach, id, 0)
	require.NoError(t, err)
	assert.Len(t, in.Felt, 1)
}

// TestRecordingTellsTheTime: a camera that wrote the time into its file lays
// the clock, whatever the phone's start mark says.
func TestRecordingTellsTheTime(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	id := w.session(w.players[0].ID)
	probe := film(60)
	probe.CreatedAt = &tenOClock
	w.recording(id, media.SideOn, probe)
	_, err := w.store.TakeMarks(t.Context(), w.coach, tagging.NetBatch{SessionID: id, Marks: []tagging.Mark{pressed(12, tagging.StartMark)}})
	require.NoError(t, err)
	n := w.net(id)
	assert.Equal(t, tagging.ByRecording, n.Zero.By)
	assert.Len(t, n.Ways, 2)
	assert.Equal(t, 12*media.Second, *n.Marks[0].At)
}

func TestBlocksOfTheNet(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	p := w.practice()
	s, err := w.store.PlanBecomes(ctx, w.coach, p.ID, 0, "2026-02-01", "")
	require.NoError(t, err)
	_, err = w.store.NetBlocks(ctx, w.coach, s.ID)
	assertKind(t, fault.Invalid, err)
	first, second := 0, 1
	one, two, own := pressed(5, tagging.BlockMark), pressed(65, tagging.BlockMark), pressed(125, tagging.BlockMark)
	one.Block, two.Block, own.Body = &first, &second, "Free"
	_, err = w.store.TakeMarks(ctx, w.coach, tagging.NetBatch{SessionID: s.ID, Marks: []tagging.Mark{pressed(0, tagging.StartMark), one, two, own, pressed(130, tagging.GivenMark)}})
	require.NoError(t, err)
	got, err := w.store.NetBlocks(ctx, w.coach, s.ID)
	require.NoError(t, err)
	require.Len(t, got, 3)
	assert.Equal(t, media.Span{Start: 65 * media.Second, End: 125 * media.Second}, got[1].Span)
	assert.Equal(t, "side-arm", got[1].Feed)
	assert.Equal(t, 1, got[1].PlanBlock)
	assert.Equal(t, "Free", got[2].Name)
	assert.Equal(t, 130*media.Second, got[2].Span.End)
}

// TestLoad counts balls of the lane where there are any, else those of the
// feeder's card, and none twice.
func TestLoad(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	p := w.practice()
	s, err := w.store.PlanBecomes(ctx, w.coach, p.ID, 0, "2026-02-01", "")
	require.NoError(t, err)
	first, second := 0, 1
	marks := []tagging.Mark{pressed(0, tagging.StartMark)}
	for i := range 10 {
		m := pressed(float64(i), tagging.GivenMark)
		m.Block, m.Ball = &first, &i
		if i >= 4 {
			m.Block = &second
		}
		marks = append(marks, m)
	}
	undo := pressed(30, tagging.UndoMark)
	undo.Undoes = marks[10].UUID
	_, err = w.store.TakeMarks(ctx, w.coach, tagging.NetBatch{SessionID: s.ID, Marks: append(marks, undo)})
	require.NoError(t, err)
	look := func() []plan.Stint {
		stints, _, err := w.store.Load(ctx, w.coach, "2026-01-01", "2026-02-28")
		require.NoError(t, err)
		return stints
	}
	assert.ElementsMatch(t, []plan.Stint{
		{Day: "2026-02-01", Doing: plan.Facing, Person: "Cleo Reed", Feed: "throw-down", Balls: 4, Counted: "card"},
		{Day: "2026-02-01", Doing: plan.Feeding, Person: "Ada Marsh", Feed: "throw-down", Balls: 4, Counted: "card"},
		{Day: "2026-02-01", Doing: plan.Facing, Person: "Cleo Reed", Feed: "side-arm", SpeedKPH: 105, SpeedBy: plan.SpeedPlanned, Balls: 5, Counted: "card"},
		{Day: "2026-02-01", Doing: plan.Feeding, Person: "Ada Marsh", Feed: "side-arm", SpeedKPH: 105, SpeedBy: plan.SpeedPlanned, Balls: 5, Counted: "card"},
	}, look())

	// The second block was filmed: its balls count, the card's of the first stay.
	w.edit(s.ID, tagging.BallEdit{Span: media.Span{Start: 80 * media.Second, End: 84 * media.Second}, State: tagging.Accepted})
	got := map[string]int{}
	for _, st := range look() {
		if st.Doing == plan.Facing {
			got[st.Feed+" "+st.Counted] += st.Balls
		}
	}
	assert.Equal(t, map[string]int{"throw-down card": 4, "side-arm balls": 1}, got)

	limits := []plan.Limit{{Doing: plan.Feeding, Days: 7, Balls: 75, Words: "Our board"}}
	_, err = w.store.SetLimits(ctx, w.analyst, limits)
	assertKind(t, fault.Forbidden, err)
	kept, err := w.store.SetLimits(ctx, w.coach, limits)
	require.NoError(t, err)
	require.Len(t, kept, 1)
	_, limits, err = w.store.Load(ctx, w.coach, "2026-01-01", "2026-02-28")
	require.NoError(t, err)
	assert.Equal(t, kept, limits)
	_, err = w.store.SetLimits(ctx, w.coach, []plan.Limit{{Doing: plan.Feeding, Days: 0, Balls: 75}})
	assertKind(t, fault.Invalid, err)
	for _, days := range [][2]string{{"soon", "later"}, {"2026-02-01", "2026-01-01"}, {"2020-01-01", "2026-01-01"}} {
		_, _, err := w.store.Load(ctx, w.coach, days[0], days[1])
		assertKind(t, fault.Invalid, err)
	}
	_, _, err = w.store.Load(ctx, w.asPlayer[0], "2026-01-01", "2026-02-28")
	assertKind(t, fault.Forbidden, err)
	none, _, err := w.store.Load(ctx, w.stranger, "2026-01-01", "2026-02-28")
	require.NoError(t, err)
	assert.Empty(t, none)
}
