package db_test

import (
	"crypto/sha256"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/fault"
	"netreel/media/jobs"
	"netreel/tagging"
)

func TestUploadBecomesARecording(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id := w.session(w.players[0].ID)
	u := w.open(id, media.BehindTheArm, "net 3.MOV")
	assert.Equal(t, tagging.UploadOpen, u.State)
	open, err := w.store.OpenUploads(ctx, time.Now().Add(time.Minute))
	require.NoError(t, err)
	assert.Equal(t, []tagging.Upload{u}, open)
	none, err := w.store.OpenUploads(ctx, u.Updated)
	require.NoError(t, err)
	assert.Empty(t, none, "touched since")

	for range 2 {
		require.NoError(t, w.store.MarkLanded(ctx, u.TusID))
	}
	require.Len(t, w.jobs("land_upload"), 1, "saying it twice queues it once")
	sum := sha256.Sum256([]byte("film"))
	landed, err := w.store.LandUpload(ctx, u.ID, sum, 1000)
	require.NoError(t, err)
	again, err := w.store.LandUpload(ctx, u.ID, sum, 1000)
	require.NoError(t, err)
	assert.Equal(t, landed.RecordingID, again.RecordingID, "a worker killed after its transaction")
	require.Len(t, w.jobs("probe_recording"), 1)

	r, err := w.store.RecordingForJob(ctx, landed.RecordingID)
	require.NoError(t, err)
	assert.Equal(t, tagging.Landed, r.State)
	assert.Equal(t, "probe", r.Step)
	assert.Equal(t, "net 3", r.Title)
	assert.Equal(t, media.BehindTheArm, r.Camera)
	assert.Equal(t, sum, r.SHA256)

	second := w.open(id, media.SideOn, "the same again.mov")
	dup, err := w.store.LandUpload(ctx, second.ID, sum, 1000)
	require.NoError(t, err)
	assert.Equal(t, tagging.UploadDuplicate, dup.State)
	assert.Equal(t, r.ID, dup.RecordingID)
	assert.Contains(t, dup.Problem, "net 3")
	require.NoError(t, w.store.FailUpload(ctx, second.ID, "late"), "does not undo what it became")
	kept, err := w.store.UploadForJob(ctx, second.ID)
	require.NoError(t, err)
	assert.Equal(t, tagging.UploadDuplicate, kept.State)

	elsewhere := w.open(w.session(), media.SideOn, "the same in another session.mov")
	adopted, err := w.store.LandUpload(ctx, elsewhere.ID, sum, 1000)
	require.NoError(t, err)
	assert.Equal(t, tagging.UploadAdopted, adopted.State)
}

func TestSameFileLandsTwiceAtOnce(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	id := w.session()
	sum := sha256.Sum256([]byte("film"))
	landed := make([]tagging.Upload, 4)
	var wait sync.WaitGroup
	for i := range landed {
		u := w.open(id, media.SideOn, "a.mp4")
		wait.Go(func() {
			var err error
			landed[i], err = w.store.LandUpload(t.Context(), u.ID, sum, 10)
			assert.NoError(t, err)
		})
	}
	wait.Wait()
	states := map[tagging.UploadState]int{}
	for _, u := range landed {
		states[u.State]++
		assert.Equal(t, landed[0].RecordingID, u.RecordingID)
	}
	assert.Equal(t, map[tagging.UploadState]int{tagging.UploadAdopted: 1, tagging.UploadDuplicate: 3}, states)
}

func TestUploadsAreTheirOwners(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id := w.session()
	u := w.open(id, media.SideOn, "a.mp4")
	got, err := w.store.UploadByTus(ctx, w.analyst, u.TusID)
	require.NoError(t, err)
	assert.Equal(t, u, got)
	_, err = w.store.UploadByTus(ctx, w.coach, u.TusID)
	assertKind(t, fault.NotFound, err)
	list, err := w.store.Uploads(ctx, w.coach, id)
	require.NoError(t, err)
	assert.Len(t, list, 1, "but all staff see that it is there")

	for name, in := range map[string]tagging.Upload{
		"no name":   {TusID: "x", SessionID: id, Camera: media.SideOn},
		"no camera": {TusID: "x", SessionID: id, FileName: "a.mp4"},
		"a null":    {TusID: "x", SessionID: id, FileName: "a\x00.mp4", Camera: media.SideOn},
	} {
		_, err := w.store.OpenUpload(ctx, w.coach, in)
		assert.Equal(t, fault.Invalid, fault.KindOf(err), name)
	}
	in := tagging.Upload{TusID: "y", SessionID: id, FileName: "a.mp4", Camera: media.SideOn}
	_, err = w.store.OpenUpload(ctx, w.stranger, in)
	assertKind(t, fault.NotFound, err)
	_, err = w.store.OpenUpload(ctx, w.asPlayer[0], in)
	assertKind(t, fault.Forbidden, err)
	_, err = w.store.Uploads(ctx, w.asPlayer[0], id)
	assertKind(t, fault.NotFound, err)
	_, err = w.store.Uploads(ctx, w.stranger, id)
	assertKind(t, fault.NotFound, err)

	require.NoError(t, w.store.FailUpload(ctx, u.ID, "This file is empty."))
	_, err = w.store.DropUpload(ctx, w.stranger, u.ID)
	assertKind(t, fault.NotFound, err)
	_, err = w.store.DropUpload(ctx, w.asPlayer[0], u.ID)
	assertKind(t, fault.Forbidden, err)
	dropped, err := w.store.DropUpload(ctx, w.coach, u.ID)
	require.NoError(t, err)
	assert.Equal(t, "This file is empty.", dropped.Problem)
	_, err = w.store.UploadForJob(ctx, u.ID)
	assertKind(t, fault.NotFound, err)
	assertKind(t, fault.NotFound, w.store.MarkLanded(ctx, u.TusID))
}

func TestSaveProbeAndProgress(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id := w.upload(w.session(), media.SideOn)
	require.NoError(t, w.store.SetProgress(ctx, id, "probe", 0.25))
	assert.InDelta(t, 0.25, w.state(id).Progress, 1e-9)

	created := time.Date(2026, 1, 12, 18, 0, 0, 0, time.UTC)
	p := film(60)
	p.CreatedAt = &created
	require.NoError(t, w.store.SaveProbe(ctx, id, p))
	r := w.state(id)
	assert.Equal(t, tagging.Probed, r.State)
	assert.Equal(t, "split", r.Step)
	require.NotNil(t, r.Probe)
	assert.Equal(t, p, *r.Probe)
	assert.Len(t, w.jobs("split_recording"), 1)
	sound, motion, err := w.store.Traces(ctx, w.coach, id)
	require.NoError(t, err)
	assert.Nil(t, sound)
	assert.Nil(t, motion)

	require.NoError(t, w.store.SetProgress(ctx, id, "probe", 0.9))
	assert.Zero(t, w.state(id).Progress, "a late word of a step that is over")
	require.NoError(t, w.store.SetProgress(ctx, id, "split", 7))
	assert.InDelta(t, 1, w.state(id).Progress, 1e-9)
	require.NoError(t, w.store.SetProgress(ctx, 999, "split", 0.5), "gone: nobody to tell")

	require.NoError(t, w.store.FailRecording(ctx, id, "The film ends in the middle."))
	r = w.state(id)
	assert.Equal(t, tagging.Failed, r.State)
	assert.Equal(t, "The film ends in the middle.", r.Problem)
	assert.Empty(t, r.Step)
	assertKind(t, fault.NotFound, w.store.SaveProbe(ctx, 999, p))
	assertKind(t, fault.NotFound, w.store.FailRecording(ctx, 999, "x"))
}

func TestWhereARecordingBegins(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	at := func(clock string) *time.Time {
		d, err := time.Parse(time.DateTime, "2026-01-12 "+clock)
		require.NoError(t, err)
		return &d
	}
	type rec struct {
		camera  media.Camera
		seconds float64
		created *time.Time
	}
	const side, behind = media.SideOn, media.BehindTheArm
	cases := []struct {
		name string
		recs []rec
		want []float64 // offsets when all are probed
	}{
		{"one", []rec{{side, 60, at("18:00:00")}}, []float64{0}},
		{"files of one camera", []rec{{side, 60, nil}, {side, 30, nil}, {side, 10, nil}}, []float64{0, 60, 90}},
		{"with a pause between", []rec{{side, 60, at("18:00:00")}, {side, 30, at("18:05:00")}}, []float64{0, 300}},
		{"chapters that all bear the first one's time", []rec{{side, 60, at("18:00:00")}, {side, 30, at("18:00:00")}}, []float64{0, 60}},
		{"a camera with the wrong day", []rec{{side, 60, at("18:00:00")}, {side, 30, at("01:00:00")}}, []float64{0, 60}},
		{"a second camera, no times", []rec{{side, 60, nil}, {behind, 60, at("18:00:00")}}, []float64{0, 0}},
		{"a second camera started later", []rec{{side, 60, at("18:00:00")}, {behind, 60, at("18:00:07")}}, []float64{0, 7}},
		{"a second camera from another day", []rec{{side, 60, at("18:00:00")}, {behind, 60, at("02:00:00")}}, []float64{0, 0}},
		{"the earlier one is probed last", []rec{{side, 60, at("18:05:00")}, {side, 30, at("18:00:00")}}, []float64{300, 0}},
		{"two cameras, two files each", []rec{
			{side, 60, at("18:00:00")}, {behind, 50, at("18:00:03")}, {side, 60, at("18:10:00")}, {behind, 50, at("18:10:05")},
		}, []float64{0, 3, 600, 605}},
	}
	for _, c := range cases {
		id := w.session()
		var ids []int64
		for _, r := range c.recs {
			p := film(r.seconds)
			p.CreatedAt = r.created
			ids = append(ids, w.recording(id, r.camera, p))
		}
		var got []float64
		for _, r := range ids {
			got = append(got, w.state(r).Clock.Offset.Seconds())
		}
		assert.Equal(t, c.want, got, c.name)
	}
}

func TestTheClockStaysWhenBallsLieOnTheLane(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	early, late := time.Date(2026, 1, 12, 18, 0, 0, 0, time.UTC), time.Date(2026, 1, 12, 18, 5, 0, 0, time.UTC)
	p := film(60)
	p.CreatedAt = &late
	id := w.session(w.players[0].ID)
	first := w.recording(id, media.SideOn, p)
	w.split(first, found(1, 3, 5))
	p.CreatedAt = &early
	second := w.recording(id, media.SideOn, p)
	assert.Zero(t, w.state(first).Clock.Offset)
	assert.Equal(t, seconds(-300), w.state(second).Clock.Offset)
}

func TestProbingAgainKeepsTheClock(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id := w.recording(w.session(), media.SideOn, film(60))
	r := w.state(id)
	r.Clock = media.Clock{Offset: seconds(12), RatePPM: 30}
	r.Title, r.Camera = "Side", media.OtherCamera
	changed, err := w.store.ChangeRecording(ctx, w.analyst, r)
	require.NoError(t, err)
	r.ClockBy = tagging.ByPerson
	assert.Equal(t, r, changed)
	require.NoError(t, w.store.SaveProbe(ctx, id, film(60)))
	assert.Equal(t, r.Clock, w.state(id).Clock)
}

func TestRecordingsAreTheSquads(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, rec := w.filmed(1)
	r := w.state(rec)
	for name, change := range map[string]func(*tagging.Recording){
		"no title":   func(r *tagging.Recording) { r.Title = "" },
		"no camera":  func(r *tagging.Recording) { r.Camera = "" },
		"far away":   func(r *tagging.Recording) { r.Clock.Offset = seconds(1e6) },
		"a mad rate": func(r *tagging.Recording) { r.Clock.RatePPM = 1e6 },
	} {
		bad := r
		change(&bad)
		_, err := w.store.ChangeRecording(ctx, w.coach, bad)
		assert.Equal(t, fault.Invalid, fault.KindOf(err), name)
	}
	for _, v := range []tagging.Viewer{w.stranger, w.asPlayer[0]} {
		_, err := w.store.Recording(ctx, v, rec)
		assertKind(t, fault.NotFound, err)
		_, _, err = w.store.Traces(ctx, v, rec)
		assertKind(t, fault.NotFound, err)
		_, err = w.store.Lane(ctx, v, id)
		assertKind(t, fault.NotFound, err)
		want := fault.NotFound
		if v.Role == tagging.PlayerRole {
			want = fault.Forbidden
		}
		_, err = w.store.ChangeRecording(ctx, v, r)
		assertKind(t, want, err)
		for _, act := range []func() (tagging.Recording, error){
			func() (tagging.Recording, error) { return w.store.Retry(ctx, v, rec) },
			func() (tagging.Recording, error) { return w.store.Cancel(ctx, v, rec) },
			func() (tagging.Recording, error) { return w.store.SplitAgain(ctx, v, rec) },
		} {
			_, err = act()
			assertKind(t, want, err)
		}
		assertKind(t, want, w.store.DeleteRecording(ctx, v, rec))
	}
	assertKind(t, fault.Forbidden, w.store.DeleteRecording(ctx, w.analyst, rec))
	sound, motion, err := w.store.Traces(ctx, w.coach, rec)
	require.NoError(t, err)
	assert.Equal(t, &media.Trace{Step: 50_000, Values: []byte{1, 2, 3}}, sound)
	assert.Equal(t, &media.Trace{Step: 50_000, Values: []byte{4, 5}}, motion)
	lane, err := w.store.Lane(ctx, w.coach, id)
	require.NoError(t, err)
	assert.Len(t, lane.Recordings, 1)
	assert.Len(t, lane.Balls, 1)
}

func TestCancelAndRetry(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	// Before the probe.
	id := w.upload(w.session(), media.SideOn)
	r, err := w.store.Cancel(ctx, w.analyst, id)
	require.NoError(t, err)
	assert.Equal(t, tagging.Cancelled, r.State)
	assert.Empty(t, w.jobs("probe_recording"))
	require.NoError(t, w.store.SaveProbe(ctx, id, film(9)), "a worker that had not noticed")
	require.NoError(t, w.store.FailRecording(ctx, id, "x"))
	assert.Equal(t, tagging.Cancelled, w.state(id).State)
	_, err = w.store.SplitAgain(ctx, w.analyst, id)
	assertKind(t, fault.Conflict, err)
	r, err = w.store.Retry(ctx, w.analyst, id)
	require.NoError(t, err)
	assert.Equal(t, tagging.Landed, r.State)
	assert.Len(t, w.jobs("probe_recording"), 1)

	// Before the split.
	require.NoError(t, w.store.SaveProbe(ctx, id, film(30)))
	require.NoError(t, w.store.FailRecording(ctx, id, "No picture."))
	r, err = w.store.Retry(ctx, w.analyst, id)
	require.NoError(t, err)
	assert.Equal(t, tagging.Probed, r.State)
	assert.Empty(t, r.Problem)
	assert.Len(t, w.jobs("split_recording"), 1)

	// While the clips are cut.
	w.split(id, found(1, 3, 5), found(7, 9, 11))
	_, err = w.store.Cancel(ctx, w.analyst, id)
	require.NoError(t, err)
	assert.Empty(t, w.jobs("cut_clips"))
	assert.Empty(t, w.jobs("smooth_clip"))
	r, err = w.store.Retry(ctx, w.analyst, id)
	require.NoError(t, err)
	assert.Equal(t, tagging.Split, r.State)
	assert.Equal(t, "clips", r.Step)
	assert.Len(t, w.jobs("cut_clips"), 1)
	assert.Len(t, w.jobs("smooth_clip"), 2)

	// A single clip that could not be cut.
	clip := w.balls(r.SessionID)[0].Clips[0]
	require.NoError(t, w.store.FailClip(ctx, clip.ID, "The film is damaged here."))
	w.cutAllBut(r.SessionID, clip.ID)
	require.Equal(t, tagging.Ready, w.state(id).State)
	_, err = w.store.Cancel(ctx, w.analyst, id)
	assertKind(t, fault.Conflict, err)
	w.work()
	r, err = w.store.Retry(ctx, w.analyst, id)
	require.NoError(t, err)
	assert.Equal(t, tagging.Split, r.State)
	require.Len(t, w.jobs("cut_clips"), 1)
	assert.JSONEq(t, jsonOf(t, jobs.CutClips{RecordingID: id, ClipIDs: []int64{clip.ID}, Revisions: []int{1}}), w.jobs("cut_clips")[0].Args)
}

func TestRetryWhileStillStopping(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id := w.upload(w.session(), media.SideOn)
	_, err := w.store.Pool().Exec(ctx, `UPDATE river_job SET state = 'running', attempted_at = now() WHERE kind = 'probe_recording'`)
	require.NoError(t, err)
	_, err = w.store.Cancel(ctx, w.analyst, id)
	require.NoError(t, err)
	require.Len(t, w.jobs("probe_recording"), 1, "what runs is told to stop, not removed")
	_, err = w.store.Retry(ctx, w.analyst, id)
	assertKind(t, fault.Conflict, err)
	assert.Equal(t, tagging.Cancelled, w.state(id).State)
	w.work()
	_, err = w.store.Retry(ctx, w.analyst, id)
	require.NoError(t, err)
}
