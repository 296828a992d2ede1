package jobs_test

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/blob"
	"netreel/media/fault"
	"netreel/media/ffmpeg"
	"netreel/media/ffmpeg/fftest"
	"netreel/media/jobs"
	"netreel/tagging"
)

// counting is the tool, and counts.
type counting struct {
	jobs.Tool
	posters atomic.Int64
}

func (c *counting) Poster(ctx context.Context, src string, at media.Micros, width int, dst string) error {
	c.posters.Add(1)
	return c.Tool.Poster(ctx, src, at, width, dst)
}

// meddling is the tool, and does something before it cuts.
type meddling struct {
	jobs.Tool
	before func(ctx context.Context, cuts []ffmpeg.Cut) error
}

func (m meddling) CutMany(ctx context.Context, src string, cuts []ffmpeg.Cut, tell func(float64)) ([]ffmpeg.CutDone, error) {
	if err := m.before(ctx, cuts); err != nil {
		return nil, err
	}
	return m.Tool.CutMany(ctx, src, cuts, tell)
}

func (s *shop) meddle(before func(ctx context.Context, cuts []ffmpeg.Cut) error) jobs.Deps {
	d := s.deps
	d.Tool = meddling{s.deps.Tool, before}
	return d
}

// TestEdgeMovedWhileCutting: the file of the old stretch is thrown away, the
// new one is cut, whether by the same job or its own.
func TestEdgeMovedWhileCutting(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.ready(fftest.Film{Seconds: 5})
	ball := s.put(span(1, 3))[0]
	var once atomic.Bool
	s.open(s.meddle(func(ctx context.Context, _ []ffmpeg.Cut) error {
		if !once.CompareAndSwap(false, true) {
			return nil
		}
		_, err := s.store.EditLane(ctx, s.coach, s.session, tagging.LaneEdit{Balls: []tagging.BallEdit{
			{ID: ball.ID, Revision: ball.Revision, Span: span(1.5, 4), State: tagging.Accepted}}})
		return err
	}))
	s.idle()
	c := s.clip(ball.ID)
	require.Equal(t, 2, c.Revision)
	require.NotNil(t, c.Quick)
	require.NotNil(t, c.Smooth)
	assert.InDelta(t, 2.5*50, len(c.Smooth.Frames), 1.5)
	assert.NotContains(t, s.keys("clips/"), blob.ClipKey(c.ID, 1, "quick"), "the file that came too late is not kept")
	assert.Contains(t, s.keys("clips/"), blob.ClipKey(c.ID, 2, "quick"))
}

// TestOneClipThatCanNotBeCut does not keep the others back.
func TestOneClipThatCanNotBeCut(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.ready(fftest.Film{Seconds: 5, Sound: "none"})
	balls := s.put(span(0.5, 1.5), span(2, 3), span(4, 5))
	s.exec(`DELETE FROM river_job WHERE kind = 'smooth_clip'`)
	s.open(s.meddle(func(_ context.Context, cuts []ffmpeg.Cut) error {
		for _, c := range cuts {
			if c.Span == span(2, 3) {
				return fault.New(fault.Invalid, "test", "The film is damaged here.")
			}
		}
		return nil
	}))
	s.idle()
	assert.NotNil(t, s.clip(balls[0].ID).Quick)
	assert.Equal(t, "The film is damaged here.", s.clip(balls[1].ID).Problem)
	assert.NotNil(t, s.clip(balls[2].ID).Quick)
}

// waiting is the tool, and waits in a probe until it is told to stop.
type waiting struct {
	jobs.Tool
	probing chan struct{}
}

func (w waiting) Probe(ctx context.Context, _ string) (media.Probe, error) {
	w.probing <- struct{}{}
	<-ctx.Done()
	return media.Probe{}, context.Cause(ctx)
}

// TestCancelStopsTheTool, and nobody is told of a problem.
func TestCancelStopsTheTool(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	d := s.deps
	tool := waiting{s.deps.Tool, make(chan struct{}, 1)}
	d.Tool = tool
	s.open(d)
	u := s.land("a.mp4", film(t, fftest.Film{Seconds: 5}))
	<-tool.probing
	id := s.upload(u.ID).RecordingID
	_, err := s.store.Cancel(t.Context(), s.coach, id)
	require.NoError(t, err)
	s.idle()
	r := s.recording(id)
	assert.Equal(t, tagging.Cancelled, r.State)
	assert.Empty(t, r.Problem)
	assert.Nil(t, r.Probe)
}

// TestStoppedAndStartedAgain: the server stops in the middle of a batch; what
// was not done is done after the next start, once.
func TestStoppedAndStartedAgain(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.ready(fftest.Film{Seconds: 5})
	balls := s.put(span(1, 2), span(3, 4))
	cutting := make(chan struct{}, 8)
	stop := s.open(s.meddle(func(ctx context.Context, _ []ffmpeg.Cut) error {
		cutting <- struct{}{}
		<-ctx.Done()
		return context.Cause(ctx)
	}))
	<-cutting
	stop()
	s.open(s.deps)
	s.idle()
	for _, b := range balls {
		assert.NotNil(t, s.clip(b.ID).Quick)
	}
	assert.Len(t, s.keys("clips/"), 4, "a quick and a smooth file of each, and nothing else")
}

// forgetful is the store, and fails once after the blob is adopted: the crash
// between the file and the row.
type forgetful struct {
	jobs.Store
	failed *atomic.Bool
}

func (f forgetful) LandUpload(ctx context.Context, id int64, sum [32]byte, size int64) (tagging.Upload, error) {
	if f.failed.CompareAndSwap(false, true) {
		return tagging.Upload{}, fault.Wrap(errors.New("gone"), fault.Unavailable, "test", "")
	}
	return f.Store.LandUpload(ctx, id, sum, size)
}

// TestCrashBetweenFileAndRow: the upload is still staged and is landed again.
func TestCrashBetweenFileAndRow(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	d := s.deps
	d.Store = forgetful{s.store, &atomic.Bool{}}
	u := s.land("a.mp4", film(t, fftest.Film{Seconds: 5}))
	s.open(d)
	s.idle()
	u = s.upload(u.ID)
	require.Equal(t, tagging.UploadAdopted, u.State)
	assert.NoFileExists(t, s.staged(u))
	assert.Len(t, s.keys("originals/"), 1)
}
