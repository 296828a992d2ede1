package db_test

import (
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/fault"
	"netreel/tagging/measure"
	"netreel/tagging/reading"
)

func TestReadingsOfAnEarlierFormulaAreComputedAnew(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	session, film := w.filmed(3)
	_, err := w.store.SaveCalibration(t.Context(), w.analyst, film, corners())
	require.NoError(t, err)
	balls := w.ballIDs(session)
	old := w.measured(base(balls[0], film, 0.62, reading.Accepted))
	guess := w.measured(base(balls[1], film, 0.5, reading.Proposed))
	now := w.measured(base(balls[2], film, 0.7, reading.Accepted))
	for _, id := range []int64{old.ID, guess.ID} {
		_, err := w.store.Pool().Exec(t.Context(), `UPDATE reading SET formula = 1 WHERE id = $1`, id)
		require.NoError(t, err)
		_, err = w.store.Pool().Exec(t.Context(), `UPDATE reading_value SET value = 1 WHERE reading_id = $1 AND measure = 'base-width'`, id)
		require.NoError(t, err)
	}
	require.NoError(t, w.store.RenewReadings(t.Context()))
	for i, want := range []float64{62, 50, 70} {
		list, err := w.store.BallReadings(t.Context(), w.coach, balls[i])
		require.NoError(t, err)
		require.Len(t, list, 1)
		require.NotEmpty(t, list[0].Values)
		assert.InDelta(t, want, list[0].Values[0].Value, 0.2, "ball %d", i)
		assert.Equal(t, old.By, list[0].By, "who measured it stays")
		assert.Equal(t, []reading.Status{reading.Accepted, reading.Proposed, reading.Accepted}[i], list[0].Status)
	}
	assert.Equal(t, 2, rows(w, `SELECT count(*) FROM reading WHERE supersedes IS NOT NULL`), "both are kept beside what they were")
	assert.Equal(t, 3, rows(w, `SELECT count(*) FROM reading WHERE holds AND formula = $1`, measure.Formula))
	require.NoError(t, w.store.RenewReadings(t.Context()))
	assert.Equal(t, 5, rows(w, `SELECT count(*) FROM reading`), "once is enough")
	assert.Equal(t, 1, rows(w, `SELECT count(*) FROM reading WHERE id = $1 AND holds`, now.ID))
}

func TestAProposalDoesNotReplaceWhatAPersonHasJudged(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	session, film := w.filmed(1)
	_, err := w.store.SaveCalibration(t.Context(), w.analyst, film, corners())
	require.NoError(t, err)
	ball := w.ballIDs(session)[0]
	again := base(ball, film, 0.5, reading.Proposed)
	w.measured(again)
	w.measured(again) // sent twice, kept once
	assert.Equal(t, 1, rows(w, `SELECT count(*) FROM reading`))
	mine := w.measured(base(ball, film, 0.62, reading.Accepted))
	late := base(ball, film, 0.4, reading.Proposed)
	late.UUID = uuid.New()
	_, _, err = w.store.AddReading(t.Context(), w.analyst, late)
	require.Equal(t, fault.Conflict, fault.KindOf(err), "%v", err)
	assert.Equal(t, 1, rows(w, `SELECT count(*) FROM reading WHERE id = $1 AND holds`, mine.ID))
	assert.Equal(t, 2, rows(w, `SELECT count(*) FROM reading`))
}
