package jobs_test

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/blob"
	"netreel/media/ffmpeg/fftest"
	"netreel/media/jobs"
	"netreel/tagging"
)

// TestFromUploadToFilm follows one file through every kind of job.
func TestFromUploadToFilm(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	content := film(t, fftest.Film{Seconds: 8})
	s.open(s.deps)
	u := s.land("side.mp4", content)
	s.idle()

	u = s.upload(u.ID)
	require.Equal(t, tagging.UploadAdopted, u.State, u.Problem)
	assert.NoFileExists(t, s.staged(u))
	assert.NoFileExists(t, s.staged(u)+".info")
	r := s.recording(u.RecordingID)
	require.Equal(t, tagging.Ready, r.State, r.Problem)
	assert.Equal(t, fftest.Width, r.Probe.Width)
	kept, _, err := s.blobs.Open(t.Context(), blob.OriginalKey(r.SHA256))
	require.NoError(t, err)
	got, err := io.ReadAll(kept)
	require.NoError(t, err)
	require.NoError(t, kept.Close())
	assert.True(t, bytes.Equal(content, got), "the original is not altered")

	s.clear()
	balls := s.put(span(1.1, 3), span(4, 6.02))
	s.idle()
	for _, b := range balls {
		c := s.clip(b.ID)
		require.Empty(t, c.Problem)
		require.NotNil(t, c.Quick)
		require.NotNil(t, c.Smooth)
		assert.GreaterOrEqual(t, c.Quick.Lead, media.Micros(0), "a copy begins at the key frame before")
		assert.LessOrEqual(t, c.Smooth.Lead, media.FromSeconds(0.02))
		assert.GreaterOrEqual(t, c.Smooth.Lead, media.Micros(0))
		assert.InDelta(t, b.Span.Length().Seconds()*50, len(c.Smooth.Frames), 1.5)
		for _, which := range []string{"quick", "smooth"} {
			path, err := s.blobs.Path(t.Context(), blob.ClipKey(c.ID, c.Revision, which))
			require.NoError(t, err)
			p, err := s.deps.Tool.Probe(t.Context(), path)
			require.NoError(t, err)
			assert.Equal(t, "h264", p.VideoCodec)
		}
	}
	s.watch(balls)
}

// watch makes a film of balls, with what was seen on the first.
func (s *shop) watch(balls []tagging.Ball) {
	t, ctx := s.t, s.t.Context()
	at := balls[0].Span.Start + media.Second
	_, err := s.store.Observe(ctx, s.coach, []tagging.Entry{
		{UUID: uuid.New(), BallID: balls[0].ID, Kind: tagging.TermKind, Group: "shot", Term: "pull", At: &at}})
	require.NoError(t, err)
	var in tagging.ReelInput
	in.Title = "Pulls"
	for _, b := range balls {
		in.Balls = append(in.Balls, tagging.ReelBall{BallID: b.ID})
	}
	reel, err := s.store.AddReel(ctx, s.coach, in)
	require.NoError(t, err)
	for _, burn := range []bool{false, true} {
		e, err := s.store.AddExport(ctx, s.coach, reel.ID, burn)
		require.NoError(t, err)
		s.idle()
		e, captions, err := s.store.Export(ctx, s.coach, e.ID)
		require.NoError(t, err)
		require.Equal(t, tagging.ExportDone, e.State, e.Problem)
		assert.InDelta(t, 1, e.Progress, 0)
		assert.Contains(t, captions, "WEBVTT Pulls\n")
		assert.Contains(t, captions, "Shot: Pull")
		path, err := s.blobs.Path(ctx, blob.ExportKey(e.ID))
		require.NoError(t, err)
		p, err := s.deps.Tool.Probe(ctx, path)
		require.NoError(t, err)
		assert.InDelta(t, 3+1.9+2.02, p.Duration.Seconds(), 0.2, "the card and both balls")
		assert.Equal(t, 1280, p.Width)
		assert.True(t, p.HasSound())
	}
}

// TestFilmOfBallsThatAreNotCut: the film's job cuts what has no file yet.
func TestFilmOfBallsThatAreNotCut(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.ready(fftest.Film{Seconds: 5})
	balls := s.put(span(1, 2), span(3, 4))
	s.exec(`DELETE FROM river_job`)
	reel, err := s.store.AddReel(t.Context(), s.coach, tagging.ReelInput{Title: "Two",
		Balls: []tagging.ReelBall{{BallID: balls[1].ID}, {BallID: balls[0].ID}}})
	require.NoError(t, err)
	e, err := s.store.AddExport(t.Context(), s.coach, reel.ID, false)
	require.NoError(t, err)
	s.open(s.deps)
	s.idle()
	e, _, err = s.store.Export(t.Context(), s.coach, e.ID)
	require.NoError(t, err)
	require.Equal(t, tagging.ExportDone, e.State, e.Problem)
	assert.NotNil(t, s.clip(balls[0].ID).Smooth)
}

// TestFilmOfNothing: the reel's only ball was discarded while its film waited.
func TestFilmOfNothing(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.ready(fftest.Film{Seconds: 5})
	ball := s.put(span(1, 2))[0]
	reel, err := s.store.AddReel(t.Context(), s.coach, tagging.ReelInput{Title: "One", Balls: []tagging.ReelBall{{BallID: ball.ID}}})
	require.NoError(t, err)
	e, err := s.store.AddExport(t.Context(), s.coach, reel.ID, false)
	require.NoError(t, err)
	s.clear()
	s.open(s.deps)
	s.idle()
	e, _, err = s.store.Export(t.Context(), s.coach, e.ID)
	require.NoError(t, err)
	assert.Equal(t, tagging.ExportFailed, e.State)
	assert.Equal(t, "There is nothing in this reel to make a film of. Add balls to it and try again.", e.Problem)
}

// TestWhatNoBrowserShows goes straight to the smooth version.
func TestWhatNoBrowserShows(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	r := s.ready(fftest.Film{Seconds: 5, Codec: "mpeg4"})
	require.False(t, r.Probe.BrowserShows())
	ball := s.put(span(1, 3))[0]
	s.open(s.deps)
	s.idle()
	c := s.clip(ball.ID)
	assert.Nil(t, c.Quick)
	assert.NotNil(t, c.Smooth)
}

// TestFilesThatComeToNothing: each is told on its own row, and the rest goes on.
func TestFilesThatComeToNothing(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	good := film(t, fftest.Film{Seconds: 5})
	s.open(s.deps)
	empty := s.land("empty.mp4", []byte{})
	short := s.arrive("short.mp4", good[:1000], len(good))
	require.NoError(t, s.store.MarkLanded(t.Context(), short.TusID))
	missing := s.arrive("missing.mp4", nil, 5)
	require.NoError(t, s.store.MarkLanded(t.Context(), missing.TusID))
	text := s.land("text.mp4", []byte("this is not a film"))
	cut := s.land("cut.mp4", good[:len(good)/2])
	fine := s.land("fine.mp4", good)
	s.idle()
	for _, tc := range []struct {
		u    tagging.Upload
		says string
	}{
		{empty, "This file is empty. Copy it from the camera again and upload it once more."},
		{short, fmt.Sprintf("Of this file's %d bytes only 1000 are on the server. Upload it once more.", len(good))},
		{missing, "The file is not on the server any more. Upload it once more."},
	} {
		u := s.upload(tc.u.ID)
		assert.Equal(t, tagging.UploadFailed, u.State, u.FileName)
		assert.Equal(t, tc.says, u.Problem)
		assert.NoFileExists(t, s.staged(u))
	}
	for _, u := range []tagging.Upload{text, cut} {
		r := s.recording(s.upload(u.ID).RecordingID)
		assert.Equal(t, tagging.Failed, r.State, u.FileName)
		assert.NotEmpty(t, r.Problem)
		assert.NotContains(t, r.Problem, "/", "no path is told")
	}
	r := s.recording(s.upload(fine.ID).RecordingID)
	assert.Equal(t, tagging.Ready, r.State, r.Problem)
}

// TestSameFileTwice: it is recognised by its content, in the session and
// beyond, and stored once.
func TestSameFileTwice(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	content := film(t, fftest.Film{Seconds: 5})
	s.open(s.deps)
	first := s.land("a.mp4", content)
	s.idle()
	second := s.land("b.mp4", content)
	s.idle()
	assert.Equal(t, tagging.UploadDuplicate, s.upload(second.ID).State)
	assert.Equal(t, s.upload(first.ID).RecordingID, s.upload(second.ID).RecordingID)
	assert.NoFileExists(t, s.staged(second))
	other, err := s.store.AddSession(t.Context(), s.coach, tagging.SessionInput{Title: "Again", HeldOn: "2026-01-18", Focus: tagging.DefaultFocus()})
	require.NoError(t, err)
	s.session = other.ID
	third := s.land("c.mp4", content)
	s.idle()
	assert.Equal(t, tagging.UploadAdopted, s.upload(third.ID).State)
	assert.Len(t, s.keys("originals/"), 1)
	assert.NoError(t, os.RemoveAll(s.deps.UploadDir))
}

// TestPosters: one run for those who ask at the same time, kept for ever.
func TestPosters(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.ready(fftest.Film{Seconds: 5})
	ball := s.put(span(1, 3))[0]
	c := s.clip(ball.ID)
	tool := &counting{Tool: s.deps.Tool}
	d := s.deps
	d.Tool = tool
	posters := jobs.NewPosters(d)
	results := make(chan string, 8)
	for range cap(results) {
		go func() {
			key, err := posters.Poster(t.Context(), c.ID)
			if err != nil {
				key = err.Error()
			}
			results <- key
		}()
	}
	for range cap(results) {
		assert.Equal(t, blob.PosterKey(c.ID, c.Revision), <-results)
	}
	assert.EqualValues(t, 1, tool.posters.Load())
	assert.True(t, s.clip(ball.ID).HasPoster)
	file, info, err := s.blobs.Open(t.Context(), blob.PosterKey(c.ID, c.Revision))
	require.NoError(t, err)
	head := make([]byte, 3)
	_, err = io.ReadFull(file, head)
	require.NoError(t, err)
	require.NoError(t, file.Close())
	assert.Equal(t, []byte{0xFF, 0xD8, 0xFF}, head, "JPEG, ITU-T T.81, annex B: a file begins with the SOI marker")
	assert.Positive(t, info.Size)
	_, err = posters.Poster(t.Context(), 9999)
	assert.ErrorContains(t, err, "no such clip")
}
