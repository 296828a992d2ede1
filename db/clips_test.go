package db_test

import (
	"crypto/sha256"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/blob"
	"netreel/media/fault"
	"netreel/media/jobs"
	"netreel/tagging"
)

func TestClipFiles(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(1)
	clip := w.balls(id)[0].Clips[0]
	quick := tagging.ClipFile{Lead: 840_000, Frames: []media.Micros{0, 20_000, 40_000}}
	kept, err := w.store.SaveQuick(ctx, clip.ID, 1, quick)
	require.NoError(t, err)
	assert.True(t, kept)
	smooth := tagging.ClipFile{Lead: -3, Frames: []media.Micros{0, 20_000}}
	kept, err = w.store.SaveSmooth(ctx, clip.ID, 1, smooth)
	require.NoError(t, err)
	assert.True(t, kept)
	require.NoError(t, w.store.SavePoster(ctx, clip.ID, 1))
	got, err := w.store.Clip(ctx, w.coach, clip.ID)
	require.NoError(t, err)
	assert.Equal(t, &quick, got.Quick)
	assert.Equal(t, &smooth, got.Smooth)
	assert.True(t, got.HasPoster)

	e := as(w.lane(id)[0])
	e.Span.Start -= seconds(0.2)
	w.edit(id, e)
	for _, save := range []func() (bool, error){
		func() (bool, error) { return w.store.SaveQuick(ctx, clip.ID, 1, quick) },
		func() (bool, error) { return w.store.SaveSmooth(ctx, clip.ID, 1, smooth) },
		func() (bool, error) { return w.store.SaveQuick(ctx, 999, 1, quick) },
	} {
		kept, err = save()
		require.NoError(t, err)
		assert.False(t, kept, "of a stretch that is not wanted any more, or of a clip that has gone")
	}
	require.NoError(t, w.store.SavePoster(ctx, clip.ID, 1))
	got, err = w.store.Clip(ctx, w.coach, clip.ID)
	require.NoError(t, err)
	assert.Equal(t, 2, got.Revision)
	assert.Nil(t, got.Quick)
	assert.Nil(t, got.Smooth)
	assert.False(t, got.HasPoster)

	require.NoError(t, w.store.FailClip(ctx, clip.ID, "Damaged."))
	require.NoError(t, w.store.FailClip(ctx, 999, "Gone."))
	got, err = w.store.Clip(ctx, w.coach, clip.ID)
	require.NoError(t, err)
	assert.Equal(t, "Damaged.", got.Problem)
}

func TestClipsForJob(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, rec := w.filmed(2)
	e := as(w.lane(id)[1])
	e.Contact = nil
	w.edit(id, e)
	b := w.balls(id)
	tasks, err := w.store.ClipsForJob(ctx, []int64{b[1].Clips[0].ID, 999, b[0].Clips[0].ID})
	require.NoError(t, err)
	require.Len(t, tasks, 2, "those that are gone are left out")
	assert.Equal(t, b[0].Clips[0], tasks[0].Clip, "in the order of the film")
	assert.Equal(t, film(22), tasks[0].Probe)
	assert.Equal(t, w.state(rec).SHA256, tasks[0].SHA256)
	assert.Equal(t, seconds(3), tasks[0].Poster, "at contact")
	assert.Equal(t, seconds(9), tasks[1].Poster, "in the middle when there is none")
}

func TestWantClip(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(1)
	clip := w.balls(id)[0].Clips[0].ID
	require.Equal(t, jobs.PriorityLater, w.jobs("smooth_clip")[0].Priority)
	require.NoError(t, w.store.WantClip(ctx, w.asPlayer[0], clip))
	got := w.jobs("smooth_clip")
	require.Len(t, got, 1, "the one that waits is put first")
	assert.Equal(t, jobs.PriorityLookedAt, got[0].Priority)

	w.work()
	require.NoError(t, w.store.WantClip(ctx, w.coach, clip))
	require.Len(t, w.jobs("smooth_clip"), 1, "or it is queued")
	w.work()
	_, err := w.store.SaveSmooth(ctx, clip, 1, tagging.ClipFile{Frames: []media.Micros{0}})
	require.NoError(t, err)
	require.NoError(t, w.store.WantClip(ctx, w.coach, clip))
	assert.Empty(t, w.jobs("smooth_clip"), "it is there")
	for _, v := range []tagging.Viewer{w.stranger, w.asPlayer[1]} {
		assertKind(t, fault.NotFound, w.store.WantClip(ctx, v, clip))
		_, err = w.store.Clip(ctx, v, clip)
		assertKind(t, fault.NotFound, err)
	}
}

func TestManyWorkersFinishOneRecording(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	id, rec := w.filmed(16)
	var wait sync.WaitGroup
	for _, b := range w.balls(id) {
		wait.Go(func() {
			kept, err := w.store.SaveQuick(t.Context(), b.Clips[0].ID, 1, tagging.ClipFile{Frames: []media.Micros{0}})
			assert.NoError(t, err)
			assert.True(t, kept)
		})
	}
	wait.Wait()
	assert.Equal(t, tagging.Ready, w.state(rec).State, "the last one sees that it is the last")
}

func TestUnreferenced(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, rec := w.filmed(2)
	b := w.balls(id)
	quick, uncut := b[0].Clips[0].ID, b[1].Clips[0].ID
	w.cutAllBut(id, uncut)
	require.NoError(t, w.store.SavePoster(ctx, quick, 1))
	reel, err := w.store.AddReel(ctx, w.coach, tagging.ReelInput{Title: "R", Balls: []tagging.ReelBall{{BallID: b[0].ID}}})
	require.NoError(t, err)
	film, err := w.store.AddExport(ctx, w.coach, reel.ID, true)
	require.NoError(t, err)

	spoken := []string{
		blob.OriginalKey(w.state(rec).SHA256), blob.ClipKey(quick, 1, "quick"), blob.PosterKey(quick, 1), blob.ExportKey(film.ID),
		"originals/not-hex", "clips/readme", "elsewhere/1", "",
	}
	gone := []string{
		blob.OriginalKey(sha256.Sum256([]byte("gone"))), blob.ClipKey(quick, 1, "smooth"), blob.ClipKey(quick, 2, "quick"),
		blob.ClipKey(uncut, 1, "quick"), blob.PosterKey(999, 1), blob.ExportKey(999),
	}
	got, err := w.store.Unreferenced(ctx, append(spoken, gone...))
	require.NoError(t, err)
	assert.Equal(t, gone, got)

	require.NoError(t, w.store.CancelExport(ctx, w.coach, film.ID))
	require.NoError(t, w.store.DeleteRecording(ctx, w.coach, rec))
	got, err = w.store.Unreferenced(ctx, spoken)
	require.NoError(t, err)
	assert.Equal(t, spoken[:4], got)
	got, err = w.store.Unreferenced(ctx, nil)
	require.NoError(t, err)
	assert.Empty(t, got)
}
