package db_test

import (
	"sync"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/jobs"
	"netreel/media/split"
	"netreel/tagging"
	"netreel/tagging/lookback"
	"netreel/tagging/reading"
)

// spans are the stretches of a session's balls in seconds, discarded ones too.
func (w *world) spans(session int64) (list [][2]float64) {
	w.t.Helper()
	for _, b := range w.lane(session) {
		list = append(list, [2]float64{b.Span.Start.Seconds(), b.Span.End.Seconds()})
	}
	return list
}

func TestSaveSplit(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	id, rec := w.filmed(3)
	r := w.state(rec)
	assert.Equal(t, tagging.Split, r.State)
	assert.Equal(t, "clips", r.Step)
	balls := w.balls(id)
	require.Len(t, balls, 3)
	for i, b := range balls {
		assert.Equal(t, i+1, b.Number)
		assert.Equal(t, tagging.Proposed, b.State)
		assert.Equal(t, "split", b.Origin)
		assert.InDelta(t, 0.9, b.Confidence, 1e-9)
		assert.Equal(t, w.players[0].ID, b.PlayerID)
		require.Len(t, b.Clips, 1)
		assert.Equal(t, b.Span, b.Clips[0].Span)
		assert.Nil(t, b.Clips[0].Quick)
	}
	require.Len(t, w.jobs("cut_clips"), 1)
	smooth := w.jobs("smooth_clip")
	require.Len(t, smooth, 3)
	assert.Equal(t, jobs.PriorityLater, smooth[0].Priority)

	w.cutAll(id)
	r = w.state(rec)
	assert.Equal(t, tagging.Ready, r.State)
	assert.Empty(t, r.Step)

	before := w.lane(id)
	w.work()
	w.split(rec, found(1, 3, 5), found(7, 9, 11), found(13, 15, 17))
	assert.Equal(t, before, w.lane(id), "the same again changes nothing")
	assert.Equal(t, tagging.Ready, w.state(rec).State)
	assert.Empty(t, w.jobs("cut_clips"))
}

func TestSplitFindsNothing(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	id := w.session()
	rec := w.recording(id, media.SideOn, film(60))
	require.NoError(t, w.store.SaveSplit(t.Context(), rec, split.Result{}))
	assert.Equal(t, tagging.Ready, w.state(rec).State, "there is nothing to cut")
	sound, _, err := w.store.Traces(t.Context(), w.coach, rec)
	require.NoError(t, err)
	assert.Nil(t, sound)
	b := w.edit(id, tagging.BallEdit{Span: media.Span{Start: seconds(1), End: seconds(4)}, State: tagging.Accepted})
	assert.Len(t, w.balls(id)[0].Clips, 1, "a ball added by hand is cut too")
	assert.Equal(t, 1, b[0].Number)
	w.split(rec)
	assert.Len(t, w.balls(id), 1, "and stays when it is split again")
}

func TestCutsAreQueuedInBatchesInTheOrderOfTime(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	id, rec := w.filmed(2*jobs.CutBatch + 3)
	cuts := w.jobs("cut_clips")
	require.Len(t, cuts, 3)
	var first jobs.CutClips
	for _, b := range w.balls(id)[:jobs.CutBatch] {
		first.ClipIDs, first.Revisions = append(first.ClipIDs, b.Clips[0].ID), append(first.Revisions, 1)
	}
	first.RecordingID = rec
	assert.JSONEq(t, jsonOf(t, first), cuts[0].Args)
}

func TestWhatTheBrowserCannotShowIsOnlyMadeSmooth(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	id := w.session(w.players[0].ID)
	p := film(60)
	p.VideoCodec = "hevc"
	rec := w.recording(id, media.SideOn, p)
	w.split(rec, found(1, 3, 5), found(7, 9, 11))
	assert.Empty(t, w.jobs("cut_clips"))
	smooth := w.jobs("smooth_clip")
	require.Len(t, smooth, 2)
	assert.Equal(t, jobs.PriorityNew, smooth[0].Priority)
	for i, b := range w.balls(id) {
		kept, err := w.store.SaveSmooth(t.Context(), b.Clips[0].ID, 1, tagging.ClipFile{Lead: -5, Frames: []media.Micros{0}})
		require.NoError(t, err)
		require.True(t, kept)
		if i == 0 {
			assert.InDelta(t, 0.5, w.state(rec).Progress, 1e-9)
		}
	}
	assert.Equal(t, tagging.Ready, w.state(rec).State)
}

func TestSplitAgainKeepsWhatPeopleTouched(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, rec := w.filmed(7)
	w.cutAll(id)
	b := w.balls(id)
	accepted, moved, discarded := as(b[0]), as(b[1]), as(b[2])
	accepted.State = tagging.Accepted
	moved.Span.End += seconds(0.5)
	discarded.State = tagging.Discarded
	w.edit(id, accepted, moved, discarded)
	w.say(w.coach, term(b[3].ID, "shot", "pull"))
	_, err := w.store.AddReel(ctx, w.coach, tagging.ReelInput{Title: "R", Balls: []tagging.ReelBall{{BallID: b[4].ID}}})
	require.NoError(t, err)

	r, err := w.store.SplitAgain(ctx, w.analyst, rec)
	require.NoError(t, err)
	assert.Equal(t, tagging.Probed, r.State)
	assert.Equal(t, "split", r.Step)
	w.work()
	// The new split finds the sixth a bit later, not the seventh, and another one at the end.
	w.split(rec, found(31.4, 33, 35.2), found(43, 45, 47))
	after := w.lane(id)
	ids := map[int64]tagging.Ball{}
	for _, x := range after {
		ids[x.ID] = x
	}
	require.Len(t, after, 7)
	assert.Equal(t, tagging.Accepted, ids[b[0].ID].State)
	assert.Equal(t, moved.Span, ids[b[1].ID].Span)
	assert.Equal(t, tagging.Discarded, ids[b[2].ID].State)
	assert.Contains(t, ids, b[3].ID, "coded work is kept")
	assert.Contains(t, ids, b[4].ID, "picked balls are kept")
	assert.Equal(t, seconds(31.4), ids[b[5].ID].Span.Start, "the row is used again")
	assert.NotContains(t, ids, b[6].ID)
	assert.Equal(t, seconds(43), after[6].Span.Start)

	got, err := w.store.Ball(ctx, w.coach, b[3].ID)
	require.NoError(t, err)
	assert.Len(t, got.Seen, 1)
	require.Len(t, got.Clips, 1)
	assert.NotNil(t, got.Clips[0].Quick, "and its clip is not cut again")
	changed, err := w.store.Ball(ctx, w.coach, b[5].ID)
	require.NoError(t, err)
	assert.Equal(t, 2, changed.Clips[0].Revision)
	assert.Nil(t, changed.Clips[0].Quick, "the old file shows another stretch")
	assert.Equal(t, b[5].Clips[0].ID, changed.Clips[0].ID)
	assert.Equal(t, tagging.Split, w.state(rec).State)
	assert.Len(t, w.jobs("cut_clips"), 1)
	w.cutAll(id)
	assert.Equal(t, tagging.Ready, w.state(rec).State)

	w.split(rec, found(13, 15, 17), found(20, 21, 22))
	for _, x := range w.lane(id) {
		if x.ID == b[2].ID {
			assert.Equal(t, tagging.Discarded, x.State, "what a person discarded does not come back")
		}
	}
}

func TestWhatPeopleSaidOfABallKeepsIt(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, rec := w.filmed(4)
	_, err := w.store.SaveCalibration(ctx, w.coach, rec, corners())
	require.NoError(t, err)
	b := w.balls(id)
	w.say(w.coach, term(b[0].ID, "shot", "pull"))
	w.measured(base(b[1].ID, rec, 0.6, reading.Accepted))
	require.NoError(t, w.store.SayFelt(ctx, w.asPlayer[0], uuid.New(), lookback.Felt{Ball: b[2].ID, Words: []string{"late"}}))
	kept := []int64{b[0].ID, b[1].ID, b[2].ID}

	w.split(rec)
	assert.Equal(t, kept, w.ballIDs(id), "a split that finds none of them takes away what nobody spoke of")

	w.split(rec, found(1, 3, 5), found(7, 9, 11), found(13, 15, 17), found(19, 21, 23))
	require.Len(t, w.ballIDs(id), 4)
	require.NoError(t, w.store.DeleteRecording(ctx, w.coach, rec))
	assert.Equal(t, kept, w.ballIDs(id), "and so when its recording goes")
}

func TestTwoCamerasSeeTheSameBalls(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, side := w.filmed(3)
	behind := w.recording(id, media.BehindTheArm, film(12))
	w.split(behind, found(1.3, 3, 5.1), found(6.9, 9, 11), found(11.1, 11.6, 12))
	balls := w.balls(id)
	assert.Equal(t, [][2]float64{{1, 5}, {7, 11}, {11.1, 12}, {13, 17}}, w.spans(id), "the first camera's edges stay")
	require.Len(t, balls[0].Clips, 2)
	assert.Equal(t, media.SideOn, balls[0].Clips[0].Camera, "side-on first")
	assert.Equal(t, media.BehindTheArm, balls[0].Clips[1].Camera)
	assert.Len(t, balls[3].Clips, 1, "the second camera had stopped by then")
	assert.Len(t, balls[2].Clips, 2)

	// The first camera's split finds none any more: those that the other one sees stay, as that one sees them.
	w.split(side)
	assert.Equal(t, [][2]float64{{1.3, 5.1}, {6.9, 11}, {11.1, 12}}, w.spans(id))
	assert.Equal(t, balls[0].ID, w.balls(id)[0].ID)
	w.say(w.coach, term(balls[0].ID, "shot", "pull"))
	require.NoError(t, w.store.DeleteRecording(ctx, w.coach, behind))
	left := w.balls(id)
	require.Len(t, left, 1, "found by nobody now, except what was coded")
	assert.Equal(t, balls[0].ID, left[0].ID)
	assert.Len(t, left[0].Clips, 1)
	assert.Equal(t, 1, left[0].Number)
}

func TestANewClockMovesWhatNobodyTouched(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, rec := w.filmed(3)
	w.cutAll(id)
	before := w.balls(id)
	touched := as(before[2])
	touched.State = tagging.Accepted
	w.edit(id, touched)
	w.work()

	r := w.state(rec)
	r.Clock = media.Clock{Offset: seconds(1), RatePPM: 50}
	_, err := w.store.ChangeRecording(ctx, w.coach, r)
	require.NoError(t, err)
	after := w.balls(id)
	require.Len(t, after, 3)
	for i := range 2 {
		assert.Equal(t, before[i].ID, after[i].ID)
		assert.Equal(t, r.Clock.ToSession(before[i].Span.Start), after[i].Span.Start)
		assert.Equal(t, 1, after[i].Clips[0].Revision, "it moved with its film: nothing to cut")
		assert.NotNil(t, after[i].Clips[0].Quick)
	}
	assert.Equal(t, touched.Span, after[2].Span)
	assert.Equal(t, 2, after[2].Clips[0].Revision)
	assert.Equal(t, r.Clock.ToRecording(touched.Span.Start), after[2].Clips[0].Span.Start)
	assert.Len(t, w.jobs("cut_clips"), 1)
}

func TestAligningTwoCamerasJoinsTheirBalls(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(3) // 1-5, 7-11, 13-17
	behind := w.recording(id, media.BehindTheArm, film(60))
	w.split(behind, found(31, 33, 35), found(37, 39, 41), found(50, 52, 54)) // the same, 30 s late, and one more
	require.Len(t, w.balls(id), 6)
	r := w.state(behind)
	r.Clock.Offset = seconds(-30)
	_, err := w.store.ChangeRecording(ctx, w.coach, r)
	require.NoError(t, err)
	assert.Equal(t, [][2]float64{{1, 5}, {7, 11}, {13, 17}, {20, 24}}, w.spans(id))
	for _, b := range w.balls(id)[:3] {
		assert.Len(t, b.Clips, 2)
	}
}

func TestSplitAndCoderAtOnce(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	id, rec := w.filmed(12)
	// While the split takes all balls away, somebody codes them: each is either kept with what was said, or gone
	// before anything was said.
	var wait sync.WaitGroup
	said := make([]bool, 12)
	for i, b := range w.balls(id) {
		wait.Go(func() {
			_, err := w.store.Observe(t.Context(), w.coach, []tagging.Entry{term(b.ID, "shot", "pull")})
			said[i] = err == nil
		})
	}
	wait.Go(func() { w.split(rec) })
	wait.Wait()
	kept := 0
	for _, ok := range said {
		if ok {
			kept++
		}
	}
	left := w.balls(id)
	assert.Len(t, left, kept)
	for _, b := range left {
		assert.Len(t, b.Seen, 1)
	}
}

func TestWhatIsHeardIsThereWhileTheSplitGoesOn(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	id := w.session(w.players[0].ID)
	rec := w.recording(id, media.SideOn, film(60))
	heard := split.Result{Cut: 0.5, Balls: thoughtOf(found(1, 3, 5), found(7, 9, 11))}
	require.NoError(t, w.store.SaveHeard(t.Context(), rec, heard))
	r := w.state(rec)
	assert.Equal(t, tagging.Probed, r.State)
	assert.Equal(t, "split", r.Step, "the split is still under way")
	assert.Equal(t, [][2]float64{{1, 5}, {7, 11}}, w.spans(id))
	require.Len(t, w.jobs("cut_clips"), 1)
	assert.Empty(t, w.jobs("smooth_clip"), "which can wait until the split has ended")
	w.cutAll(id)
	assert.Equal(t, tagging.Probed, w.state(rec).State)

	// A person looks one over before the split ends, which then finds that the
	// other was none.
	first := w.balls(id)[0]
	w.edit(id, tagging.BallEdit{ID: first.ID, Span: first.Span, Contact: first.Contact, State: tagging.Accepted, Revision: first.Revision})
	w.split(rec, found(1.1, 3, 5.1), found(13, 15, 17))
	assert.Equal(t, [][2]float64{{1, 5}, {13, 17}}, w.spans(id))
	assert.Equal(t, first.ID, w.balls(id)[0].ID)
	assert.Len(t, w.jobs("smooth_clip"), 2)

	before := w.lane(id)
	require.NoError(t, w.store.SaveHeard(t.Context(), rec, heard))
	assert.Equal(t, before, w.lane(id), "what was found by looking is better")
}
