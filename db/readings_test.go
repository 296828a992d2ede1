package db_test

import (
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/fault"
	"netreel/media/scene/space"
	"netreel/tagging"
	"netreel/tagging/find"
	"netreel/tagging/measure"
	"netreel/tagging/reading"
)

// A camera 8 m to the off side; films of this package are 1280 x 720.
var nets = space.LookAt(space.V{X: 1.9, Y: 8, Z: 2}, space.V{X: 1.2, Z: 0.8}, 1400, 1280, 720)

func on(x, y, z float64) reading.Point {
	p, _, _ := nets.Project(space.V{X: x, Y: y, Z: z})
	return reading.Point{X: p.X / 1280, Y: p.Y / 720}
}

func corners() reading.CalibrationInput {
	var in reading.CalibrationInput
	for _, m := range reading.Choices().Marks {
		switch m.Key {
		case "bowling-leg", "bowling-off", "popping-leg", "popping-off", "middle-top":
			in.Clicks = append(in.Clicks, reading.Click{Mark: m.Key, At: on(m.X, m.Y, m.Z)})
		}
	}
	return in
}

// base is a reading of two heels so many metres apart.
func base(ball, recording int64, width float64, status reading.Status) reading.Input {
	return reading.Input{
		UUID: uuid.New(), BallID: ball, RecordingID: recording, Status: status,
		Sights: reading.Sights{Contact: &reading.Sight{At: media.Second, Points: map[measure.Part]reading.Point{
			measure.BackHeel: on(1, 0.1, 0), measure.FrontHeel: on(1+width, 0.1, 0),
		}}},
	}
}

func (w *world) ballIDs(session int64) []int64 {
	w.t.Helper()
	list, err := w.store.SessionBalls(w.t.Context(), w.coach, session)
	require.NoError(w.t, err)
	ids := make([]int64, len(list))
	for i, b := range list {
		ids[i] = b.ID
	}
	return ids
}

func (w *world) measured(in reading.Input) reading.Reading {
	w.t.Helper()
	kept, _, err := w.store.AddReading(w.t.Context(), w.coach, in)
	require.NoError(w.t, err)
	return kept
}

func rows(w *world, sql string, a ...any) int {
	w.t.Helper()
	var n int
	require.NoError(w.t, w.store.Pool().QueryRow(w.t.Context(), sql, a...).Scan(&n))
	return n
}

func TestMeasuredBallsAreFoundByRange(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	session, film := w.filmed(4)
	_, err := w.store.SaveCalibration(t.Context(), w.analyst, film, corners())
	require.NoError(t, err)
	balls := w.ballIDs(session)
	for i, width := range []float64{0.62, 0.48, 0.71} {
		kept := w.measured(base(balls[i], film, width, reading.Accepted))
		require.NotEmpty(t, kept.Values)
		assert.InDelta(t, 100*width, kept.Values[0].Value, 0.2)
	}
	w.measured(base(balls[3], film, 0.4, reading.Proposed)) // counts for nothing yet
	ask := func(question string) (found []int64) {
		t.Helper()
		q, err := find.Parse(question)
		require.NoError(t, err)
		answer, err := w.store.Find(t.Context(), w.coach, q, find.Page{})
		require.NoError(t, err)
		for _, i := range answer.Items {
			found = append(found, i.Ball.ID)
		}
		assert.Equal(t, len(found), answer.Total)
		return found
	}
	assert.Equal(t, []int64{balls[1]}, ask("measured.base-width=..55"))
	assert.Equal(t, []int64{balls[0], balls[2]}, ask("measured.base-width=55..80"))
	assert.Equal(t, []int64{balls[1], balls[0], balls[2], balls[3]}, ask("sort=base-width"), "those without it last")
	assert.Equal(t, []int64{balls[2], balls[0], balls[1]}, ask("measured.base-width=..&sort=-base-width"))
	assert.Empty(t, ask("measured.stride=.."))

	b, err := w.store.Ball(t.Context(), w.asPlayer[0], balls[1])
	require.NoError(t, err)
	require.NotEmpty(t, b.Measured)
	assert.Equal(t, "base-width", b.Measured[0].Measure)
	proposed, err := w.store.Ball(t.Context(), w.coach, balls[3])
	require.NoError(t, err)
	assert.Empty(t, proposed.Measured)
}

func TestReadingsAreALedger(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	session, film := w.filmed(2)
	_, err := w.store.SaveCalibration(t.Context(), w.coach, film, corners())
	require.NoError(t, err)
	ball := w.ballIDs(session)[0]

	first := base(ball, film, 0.6, reading.Proposed)
	first.ProposedBy = "model"
	kept := w.measured(first)
	assert.Equal(t, kept.ID, w.measured(first).ID, "sent once more")
	assert.Equal(t, 1, rows(w, "SELECT count(*) FROM reading"))

	judged, err := w.store.Judge(t.Context(), w.analyst, kept.ID, reading.Accepted)
	require.NoError(t, err)
	assert.Equal(t, reading.Accepted, judged.Status)
	assert.Equal(t, "model", judged.ProposedBy)
	assert.Equal(t, 2, rows(w, "SELECT count(*) FROM reading"), "nothing is ever changed")
	assert.Equal(t, 1, rows(w, "SELECT count(*) FROM reading WHERE holds"))

	corrected := w.measured(base(ball, film, 0.7, reading.Accepted))
	assert.InDelta(t, 70, corrected.Values[0].Value, 0.3)
	_, err = w.store.Judge(t.Context(), w.coach, kept.ID, reading.Rejected)
	assert.Equal(t, fault.NotFound, fault.KindOf(err), "other points hold")

	// A new calibration computes anew what was measured, and keeps what was before.
	half := corners()
	half.Length = 15.545 // only the far end moves
	_, err = w.store.SaveCalibration(t.Context(), w.coach, film, half)
	require.NoError(t, err)
	assert.Equal(t, 4, rows(w, "SELECT count(*) FROM reading"))
	list, err := w.store.BallReadings(t.Context(), w.coach, ball)
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.InDelta(t, 70, list[0].Values[0].Value, 0.3)
	assert.Equal(t, 1, rows(w, "SELECT count(*) FROM calibration WHERE holds"))
	_, err = w.store.Judge(t.Context(), w.coach, corrected.ID, reading.Rejected)
	require.NoError(t, err, "the same points, computed anew")
}

func TestReadingRefuses(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	session, film := w.filmed(1)
	ball := w.ballIDs(session)[0]
	// Without a calibration a base can't be had: nothing is stored.
	_, _, err := w.store.AddReading(t.Context(), w.coach, base(ball, film, 0.6, reading.Accepted))
	assert.Equal(t, fault.Invalid, fault.KindOf(err))
	assert.Contains(t, fault.Message(err), "calibrated")
	bad := corners()
	bad.Clicks = bad.Clicks[:3]
	_, err = w.store.SaveCalibration(t.Context(), w.coach, film, bad)
	assert.Equal(t, fault.Invalid, fault.KindOf(err))
	assert.Zero(t, rows(w, "SELECT count(*) FROM calibration"))
	assert.Zero(t, rows(w, "SELECT count(*) FROM reading"))

	for name, v := range map[string]tagging.Viewer{"a player": w.asPlayer[0], "a stranger": w.stranger} {
		_, err := w.store.Calibration(t.Context(), v, film)
		assert.Equal(t, fault.NotFound, fault.KindOf(err), name)
		_, err = w.store.SessionReadings(t.Context(), v, session)
		assert.Equal(t, fault.NotFound, fault.KindOf(err), name)
		_, _, err = w.store.AddReading(t.Context(), v, base(ball, film, 0.6, reading.Accepted))
		assert.Error(t, err, name)
	}
	_, err = w.store.PlayerMeasures(t.Context(), w.asPlayer[1], w.players[0].ID)
	assert.Equal(t, fault.NotFound, fault.KindOf(err), "another player's")
}

func TestMeasuringWaitsForACalibration(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	session, film := w.filmed(1)
	ball := w.ballIDs(session)[0]
	proposed := w.measured(base(ball, film, 0.6, reading.Proposed))

	w.waitsForTheLane(session, func() error {
		_, _, err := w.store.AddReading(ctx, w.coach, base(ball, film, 0.6, reading.Proposed))
		return err
	})
	w.waitsForTheLane(session, func() error {
		_, err := w.store.Judge(ctx, w.coach, proposed.ID, reading.Rejected)
		return err
	})
}

// waitsForTheLane checks that a use case waits while somebody else changes a
// session's lane, as calibrating one of its cameras does, and goes on then.
func (w *world) waitsForTheLane(session int64, useCase func() error) {
	w.t.Helper()
	ctx := w.t.Context()
	changing, err := w.store.Pool().Begin(ctx)
	require.NoError(w.t, err)
	defer func() { _ = changing.Rollback(ctx) }()
	_, err = changing.Exec(ctx, `SELECT id FROM net_session WHERE id = $1 FOR NO KEY UPDATE`, session)
	require.NoError(w.t, err)
	done := make(chan error, 1)
	go func() { done <- useCase() }()
	for rows(w, `SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'`) == 0 {
		select {
		case err := <-done:
			w.t.Fatal("it did not wait", err)
		default:
		}
	}
	require.NoError(w.t, changing.Commit(ctx))
	require.NoError(w.t, <-done)
}

func TestYardsticksAndHistory(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	session, film := w.filmed(3)
	_, err := w.store.SaveCalibration(t.Context(), w.coach, film, corners())
	require.NoError(t, err)
	low, high := 50.0, 65.0
	assert.Equal(t, fault.Forbidden, fault.KindOf(w.store.SetYardsticks(t.Context(), w.analyst, w.players[0].ID, reading.Yardsticks{})))
	require.NoError(t, w.store.SetYardsticks(t.Context(), w.coach, w.players[0].ID, reading.Yardsticks{NarrowBelow: &low, WideFrom: &high}))
	for i, ball := range w.ballIDs(session) {
		_, out, err := w.store.AddReading(t.Context(), w.coach, base(ball, film, 0.45+0.12*float64(i), reading.Accepted))
		require.NoError(t, err)
		require.Len(t, out.Terms, 1)
		assert.Equal(t, []string{"narrow", "sound", "wide"}[i], out.Terms[0].Term)
	}
	h, err := w.store.PlayerMeasures(t.Context(), w.asPlayer[0], w.players[0].ID)
	require.NoError(t, err)
	require.NotEmpty(t, h.Measures)
	assert.Equal(t, 3, h.Measures[0].All.Balls)
	assert.InDelta(t, 57, h.Measures[0].All.Mean, 0.3)
	assert.Nil(t, h.Yardsticks.NarrowBelow, "the coach's own")
	h, err = w.store.PlayerMeasures(t.Context(), w.coach, w.players[0].ID)
	require.NoError(t, err)
	assert.Equal(t, &low, h.Yardsticks.NarrowBelow)
}
