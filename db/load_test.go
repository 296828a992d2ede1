package db_test

import (
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/tagging"
	"netreel/tagging/plan"
	"netreel/tagging/reading"
)

// TestLoadSaysWhereSpeedsAreFrom: a measured speed goes before a typed one, and
// that before the plan's; a proposed reading is no measurement yet.
func TestLoadSaysWhereSpeedsAreFrom(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	latest, err := w.store.LatestLoad(ctx, w.coach)
	require.NoError(t, err)
	assert.Empty(t, latest, "there is no ball")
	id, film := w.filmed(5)
	balls := w.ballIDs(id)
	p := w.practice()
	_, err = w.store.PlanBecomes(ctx, w.coach, p.ID, id, "", "")
	require.NoError(t, err)
	const day = "2026-01-12"
	latest, err = w.store.LatestLoad(ctx, w.coach)
	require.NoError(t, err)
	assert.Equal(t, day, latest)

	blocks := func(kph float64) {
		list, err := w.store.SetBlocks(ctx, w.coach, id, []tagging.Block{
			{Name: "Side-arm", Span: media.Span{End: 100 * media.Second}, Feed: "side-arm", SpeedKPH: kph, PlanID: p.ID, PlanBlock: 1},
		})
		require.NoError(t, err)
		require.Equal(t, p.ID, list[0].PlanID)
	}
	type speed struct {
		By    plan.SpeedBy
		KPH   float64
		Balls int
	}
	look := func() (list []speed, measured plan.Stint) {
		stints, _, err := w.store.Load(ctx, w.coach, day, day)
		require.NoError(t, err)
		for _, s := range stints {
			if s.Doing == plan.Facing && s.SpeedBy == plan.SpeedMeasured {
				measured = s
			} else if s.Doing == plan.Facing {
				list = append(list, speed{s.SpeedBy, s.SpeedKPH, s.Balls})
			}
		}
		return list, measured
	}
	blocks(0)
	got, _ := look()
	assert.Equal(t, []speed{{plan.SpeedPlanned, 105, 5}}, got, "the plan's, where nobody typed one")
	blocks(105)
	got, _ = look()
	assert.Equal(t, []speed{{plan.SpeedPlanned, 105, 5}}, got, "as it was planned")
	blocks(112)
	got, _ = look()
	assert.Equal(t, []speed{{plan.SpeedTyped, 112, 5}}, got)

	flight := func(ball int64, seconds float64, status reading.Status) {
		in := base(ball, film, 0.6, status)
		release := in.Sights.Contact.At - media.FromSeconds(seconds)
		in.UUID, in.Sights.Release = uuid.New(), &release
		w.measured(in)
	}
	flight(balls[0], 0.60, reading.Accepted)
	flight(balls[1], 0.70, reading.Accepted)
	flight(balls[2], 0.50, reading.Proposed)
	got, measured := look()
	assert.Equal(t, []speed{{plan.SpeedTyped, 112, 3}}, got)
	assert.Equal(t, 2, measured.Balls)
	// Popping crease to popping crease of the Laws' pitch, 17.68 m, in 0.59 and 0.69 s: the frame before may have been it.
	assert.InDelta(t, 17.68/0.60*3.6, measured.Fastest, 3)
	assert.InDelta(t, 17.68/0.70*3.6, measured.Slowest, 3)
	assert.InDelta(t, (measured.Fastest+measured.Slowest)/2, measured.SpeedKPH, 0.1)
}
