package api_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/blob"
	"netreel/media/split"
	"netreel/tagging"
	"netreel/tagging/measure"
	"netreel/tagging/plan"
	"netreel/tagging/reading"
)

func micros(seconds float64) media.Micros { return media.FromSeconds(seconds) }

// fill gives the squad a session with a recording, three balls of two players,
// clips, observations, a reel, a share link, a film and an upload.
func (w *world) fill() *world {
	t, ctx, v := w.t, w.t.Context(), w.staff()
	t.Helper()
	s, err := w.store.AddSession(ctx, v, tagging.SessionInput{Title: "Winter nets", HeldOn: "2026-01-17", Place: "Hall",
		Focus: tagging.DefaultFocus(), Players: []int64{w.ids.asha, w.ids.bela}})
	require.NoError(t, err)
	other, err := w.store.AddSession(ctx, v, tagging.SessionInput{Title: "Empty", HeldOn: "2026-01-18", Focus: tagging.DefaultFocus()})
	require.NoError(t, err)
	w.ids.session, w.ids.otherSession = s.ID, other.ID
	w.ids.recording = w.recording("side.mp4", "side-on bytes")
	w.ids.spare = w.recording("spare.mp4", "more bytes")
	w.balls()
	w.measured()
	require.NoError(t, w.store.FailRecording(ctx, w.ids.spare, "The picture can't be read."))
	w.ids.tusID, _ = w.openUpload(w.staff(), 10)
	_, w.ids.uploadRow = w.openUpload(w.staff(), 10)
	w.secondLooks()
	reel, err := w.store.AddReel(ctx, v, tagging.ReelInput{Title: "Pulls", Players: []int64{w.ids.asha},
		Balls: []tagging.ReelBall{{BallID: w.ids.ball, Title: "Early", Note: "Watch the hands"}}})
	require.NoError(t, err)
	w.ids.reel = reel.ID
	share, secret, err := w.store.AddShare(ctx, v, reel.ID, time.Now().Add(24*time.Hour))
	require.NoError(t, err)
	w.ids.share, w.ids.secret = share.ID, secret
	film, err := w.store.AddExport(ctx, v, reel.ID, false)
	require.NoError(t, err)
	w.ids.export = film.ID
	require.NoError(t, put(ctx, w.blobs, blob.ExportKey(film.ID), w.ids.film))
	waiting, err := w.store.AddExport(ctx, v, reel.ID, true)
	require.NoError(t, err)
	w.ids.waiting = waiting.ID
	w.plans()
	require.NoError(t, w.store.SetExport(ctx, film.ID, tagging.ExportDone, 1, "", "WEBVTT\n"))
	return w
}

// plans gives the squad a plan, and the session marks of the net.
func (w *world) plans() {
	t, ctx, v := w.t, w.t.Context(), w.staff()
	t.Helper()
	p, err := w.store.SavePlan(ctx, v, plan.Plan{Title: "Back foot plan", PlayerID: w.ids.asha, Minutes: 20, Blocks: []plan.Block{{
		Name: "Short", Pace: 20, Order: plan.Random, Types: []plan.Type{{Name: "Short", Length: "short", Balls: 3}, {Name: "Full", Length: "full", Balls: 3}},
	}}})
	require.NoError(t, err)
	w.ids.plan = p.ID
	at := time.Date(2026, 1, 17, 10, 0, 0, 0, time.UTC)
	first := 0
	_, err = w.store.TakeMarks(ctx, v, tagging.NetBatch{SessionID: w.ids.session, Marks: []tagging.Mark{
		{UUID: uuid.New(), Kind: tagging.StartMark, Made: at},
		{UUID: uuid.New(), Kind: tagging.BlockMark, Made: at.Add(time.Second), Block: &first, Body: "Warm-up"},
		{UUID: uuid.New(), Kind: tagging.TermMark, Made: at.Add(7 * time.Second), Group: "feet", Term: "back"},
	}})
	require.NoError(t, err)
}

// recording makes a recording the way an upload does, up to the probe.
func (w *world) recording(name, content string) int64 {
	t, ctx, v := w.t, w.t.Context(), w.staff()
	t.Helper()
	u, err := w.store.OpenUpload(ctx, v, tagging.Upload{TusID: uuid.NewString(), SessionID: w.ids.session, AccountID: v.AccountID,
		FileName: name, Size: int64(len(content)), Camera: media.SideOn})
	require.NoError(t, err)
	require.NoError(t, w.store.MarkLanded(ctx, u.TusID))
	sum := sumOf([]byte(content))
	require.NoError(t, put(ctx, w.blobs, blob.OriginalKey(sum), []byte(content)))
	landed, err := w.store.LandUpload(ctx, u.ID, sum, int64(len(content)))
	require.NoError(t, err)
	require.NoError(t, w.store.SaveProbe(ctx, landed.RecordingID, media.Probe{
		Container: "mov,mp4,m4a,3gp,3g2,mj2", VideoCodec: "h264", PixelFormat: "yuv420p", Width: 1280, Height: 720, FrameRate: 50,
		Duration: 60 * media.Second, AudioCodec: "aac"}))
	return landed.RecordingID
}

// balls gives the recording three balls: the first two are Asha's, the third
// is Bela's. The first has a smooth file.
func (w *world) balls() {
	t, ctx, v := w.t, w.t.Context(), w.staff()
	t.Helper()
	contact := micros(6)
	require.NoError(t, w.store.SaveSplit(ctx, w.ids.recording, split.Result{
		Balls: []split.Ball{
			{Delivery: media.Delivery{Start: micros(4), Contact: &contact, End: micros(8), Confidence: 0.9}, Passing: contact, Struck: 0.9},
			{Delivery: media.Delivery{Start: micros(14), End: micros(18), Confidence: 0.5}, Passing: micros(16), Struck: 0.2},
			{Delivery: media.Delivery{Start: micros(24), End: micros(28), Confidence: 0.7}, Passing: micros(26), Struck: 0.4},
			{Delivery: media.Delivery{Start: micros(30), End: micros(33), Confidence: 0.2}, Passing: micros(32), Struck: 0.4}},
		Cut: 0.5, Notes: []string{"The sound is clipped."}, Breaks: []media.Span{{Start: micros(8), End: micros(14)}},
		Sound:  media.Trace{Step: 50_000, Values: []byte{1, 2, 3}},
		Motion: media.Trace{Step: 50_000, Values: []byte{4, 5}},
	}))
	lane, err := w.store.Lane(ctx, v, w.ids.session)
	require.NoError(t, err)
	require.Len(t, lane.Balls, 3)
	var edit tagging.LaneEdit
	for i, b := range lane.Balls {
		batter := w.ids.asha
		if i == 2 {
			batter = w.ids.bela
		}
		edit.Balls = append(edit.Balls, tagging.BallEdit{ID: b.ID, Revision: b.Revision, Span: b.Span, Contact: b.Contact,
			State: tagging.Accepted, BatterID: batter})
	}
	_, err = w.store.EditLane(ctx, v, w.ids.session, edit)
	require.NoError(t, err)
	w.ids.ball, w.ids.otherBall = lane.Balls[0].ID, lane.Balls[2].ID
	b, err := w.store.Ball(ctx, v, w.ids.ball)
	require.NoError(t, err)
	require.Len(t, b.Clips, 1)
	w.ids.clip = b.Clips[0].ID
	w.ids.film = []byte(strings.Repeat("0123456789", 50))
	require.NoError(t, put(ctx, w.blobs, blob.ClipKey(w.ids.clip, b.Clips[0].Revision, "smooth"), w.ids.film))
	kept, err := w.store.SaveSmooth(ctx, w.ids.clip, b.Clips[0].Revision, tagging.ClipFile{Lead: -1000, Frames: []media.Micros{0, 20_000}})
	require.NoError(t, err)
	require.True(t, kept)
	at := micros(6)
	_, err = w.store.Observe(ctx, v, []tagging.Entry{
		{UUID: uuid.New(), BallID: w.ids.ball, Kind: tagging.TermKind, Group: "shot", Term: "pull", At: &at},
		{UUID: uuid.New(), BallID: w.ids.ball, Kind: tagging.NoteKind, Body: "Hands early", At: &at},
		{UUID: uuid.New(), BallID: w.ids.ball, Kind: tagging.DrawingKind, At: &at, RecordingID: w.ids.recording,
			Drawing: &tagging.Drawing{Strokes: []tagging.Stroke{{Straight: true, Points: [][2]float64{{0, 0}, {1, 0.5}}}}}},
	})
	require.NoError(t, err)
}

// secondLooks has the coach look at their own coding again, twice; one look is
// finished.
func (w *world) secondLooks() {
	t, ctx, v := w.t, w.t.Context(), w.staff()
	t.Helper()
	for _, id := range []*int64{&w.ids.look, &w.ids.openLook} {
		look, err := w.store.AddSecondLook(ctx, v, w.ids.session, tagging.LookInput{
			FirstID: v.AccountID, SecondID: v.AccountID, Groups: []string{"shot"}, Balls: 20})
		require.NoError(t, err)
		*id = look.ID
	}
	require.NoError(t, w.store.SaveLookBall(ctx, v, w.ids.look, w.ids.ball, tagging.Codes{"shot": {"cut"}}))
	require.NoError(t, w.store.FinishSecondLook(ctx, v, w.ids.look))
}

// measured puts a proposed reading on the third ball, for a verdict.
func (w *world) measured() {
	w.t.Helper()
	at := func(x, y float64) reading.Point { return reading.Point{X: x, Y: y} }
	kept, _, err := w.store.AddReading(w.t.Context(), w.staff(), reading.Input{UUID: uuid.New(), BallID: w.ids.otherBall, RecordingID: w.ids.recording,
		Status: reading.Proposed, ProposedBy: "model", Sights: reading.Sights{Contact: &reading.Sight{At: micros(26), Points: map[measure.Part]reading.Point{
			measure.FrontHip: at(0.5, 0.4), measure.FrontKnee: at(0.52, 0.5), measure.FrontAnkle: at(0.51, 0.6)}}}})
	require.NoError(w.t, err)
	w.ids.reading = kept.ID
}

// openUpload writes the row and the files of an upload that has begun.
func (w *world) openUpload(v tagging.Viewer, size int64) (tusID string, row int64) {
	w.t.Helper()
	tusID = strings.ReplaceAll(uuid.NewString(), "-", "")
	u, err := w.store.OpenUpload(w.t.Context(), v, tagging.Upload{TusID: tusID, SessionID: w.ids.session, AccountID: v.AccountID,
		FileName: "more.mp4", Size: size, Camera: media.OtherCamera})
	require.NoError(w.t, err)
	path := filepath.Join(w.uploads, tusID)
	require.NoError(w.t, os.WriteFile(path, nil, 0o600))
	info := fmt.Sprintf(`{"ID":%q,"Size":%d,"Offset":0,"MetaData":{},"Storage":{"Type":"filestore","Path":%q,"InfoPath":%q}}`, tusID, size, path, path+".info")
	require.NoError(w.t, os.WriteFile(path+".info", []byte(info), 0o600))
	return tusID, u.ID
}

// vocabulary is the current edition with one term renamed, as the page sends it.
func (w *world) vocabulary() string {
	w.t.Helper()
	e, err := w.store.Vocabulary(w.t.Context(), w.staff(), 0)
	require.NoError(w.t, err)
	e.Groups[0].Terms[0].Name = "Quick"
	b, err := json.Marshal(e)
	require.NoError(w.t, err)
	return string(b)
}
