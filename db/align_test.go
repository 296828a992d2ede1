package db_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/align"
	"netreel/media/fault"
	"netreel/tagging"
)

// pairOf is what the sound of two recordings told.
func pairOf(a, b int64, offset, confidence float64) align.Pair {
	p := align.Pair{A: int(a), B: int(b), Match: align.Match{
		Clock: media.Clock{Offset: seconds(offset), RatePPM: 20}, At: seconds(30), Confidence: confidence,
	}}
	if confidence < align.Sure {
		p.Why = "Too little that both recordings hear was found."
	}
	return p
}

func TestASecondCameraIsLaidBySound(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id := w.session(w.players[0].ID)
	side := w.recording(id, media.SideOn, film(60))
	assert.Empty(t, w.jobs("align_session"), "one camera needs no other")
	w.recording(id, media.SideOn, film(40))
	assert.Empty(t, w.jobs("align_session"), "nor do two files of one")
	behind := w.recording(id, media.BehindTheArm, film(60))
	require.Len(t, w.jobs("align_session"), 1)
	heard, known, err := w.store.ToAlign(ctx, id)
	require.NoError(t, err)
	assert.Len(t, heard, 3)
	assert.Empty(t, known)

	w.split(behind, found(1, 3, 5))
	require.NoError(t, w.store.SaveMatches(ctx, id, []align.Pair{pairOf(side, behind, 7, 0.97)}))
	r := w.state(behind)
	assert.Equal(t, media.Clock{Offset: seconds(7), RatePPM: 20}, r.Clock)
	assert.Equal(t, tagging.BySound, r.ClockBy)
	require.NotNil(t, r.ClockSure)
	assert.InDelta(t, 0.97, *r.ClockSure, 1e-9)
	assert.InDelta(t, 8, w.spans(id)[0][0], 0.001, "its balls came along")
	_, known, err = w.store.ToAlign(ctx, id)
	require.NoError(t, err)
	assert.Len(t, known, 1)

	// 34.3 m more make a tenth of a second at 343 m/s, which is taken off once both distances are typed.
	for camera, metres := range map[int64]float64{side: 8, behind: 42.3} {
		in := w.state(camera)
		in.Metres = &metres
		_, err := w.store.ChangeRecording(ctx, w.analyst, in)
		require.NoError(t, err)
	}
	assert.InDelta(t, 7.1, w.state(behind).Clock.Offset.Seconds(), 1e-6)

	// A person's word holds until it is taken back.
	in := w.state(behind)
	in.Clock.Offset = seconds(5)
	_, err = w.store.ChangeRecording(ctx, w.analyst, in)
	require.NoError(t, err)
	require.NoError(t, w.store.SaveMatches(ctx, id, []align.Pair{pairOf(side, behind, 9, 0.99)}))
	assert.Equal(t, tagging.ByPerson, w.state(behind).ClockBy)
	assert.Equal(t, seconds(5), w.state(behind).Clock.Offset)
	assert.InDelta(t, -4.1, w.state(side).Clock.Offset.Seconds(), 0.001, "the other one is laid on it")
	back, err := w.store.AlignAgain(ctx, w.analyst, behind)
	require.NoError(t, err)
	assert.Equal(t, tagging.BySound, back.ClockBy)
	_, err = w.store.AlignAgain(ctx, w.stranger, behind)
	assert.Equal(t, fault.NotFound, fault.KindOf(err))
}

// TestAllCamerasAnew: what a person laid by hand stays where the sound, asked
// once more, refuses, and gives way where it is sure.
func TestAllCamerasAnew(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id := w.session(w.players[0].ID)
	side := w.recording(id, media.SideOn, film(60))
	assertKind(t, fault.Conflict, w.store.AlignAll(ctx, w.analyst, id))
	behind := w.recording(id, media.BehindTheArm, film(60))
	require.NoError(t, w.store.SaveMatches(ctx, id, []align.Pair{pairOf(side, behind, 7, 0.2)}))
	in := w.state(behind)
	in.Clock.Offset = seconds(5)
	_, err := w.store.ChangeRecording(ctx, w.analyst, in)
	require.NoError(t, err)

	before := len(w.jobs("align_session"))
	require.NoError(t, w.store.AlignAll(ctx, w.analyst, id))
	require.NoError(t, w.store.AlignAll(ctx, w.analyst, id), "asked twice, compared once")
	assert.Len(t, w.jobs("align_session"), before+1)
	assertKind(t, fault.NotFound, w.store.AlignAll(ctx, w.stranger, id))
	assertKind(t, fault.Forbidden, w.store.AlignAll(ctx, w.asPlayer[0], id))

	require.NoError(t, w.store.LayAnew(ctx, id, []align.Pair{pairOf(side, behind, 9, 0.3)}))
	assert.Equal(t, tagging.ByPerson, w.state(behind).ClockBy)
	assert.Equal(t, seconds(5), w.state(behind).Clock.Offset, "the sound refuses: by hand it was")
	require.NoError(t, w.store.LayAnew(ctx, id, []align.Pair{pairOf(side, behind, 9, 0.98)}))
	assert.Equal(t, tagging.BySound, w.state(behind).ClockBy)
	assert.Equal(t, seconds(9), w.state(behind).Clock.Offset)
}

func TestAlignmentRefused(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id := w.session(w.players[0].ID)
	side := w.recording(id, media.SideOn, film(60))
	behind := w.recording(id, media.BehindTheArm, film(60))
	mute := film(60)
	mute.AudioCodec = ""
	deaf := w.recording(id, media.OtherCamera, mute)
	before := w.state(behind).Clock
	require.NoError(t, w.store.SaveMatches(ctx, id, []align.Pair{pairOf(side, behind, 7, 0.2)}))
	r := w.state(behind)
	assert.Equal(t, before, r.Clock)
	assert.Equal(t, tagging.ByGuess, r.ClockBy)
	assert.Contains(t, r.ClockNote, "Too little")
	_, err := w.store.AlignAgain(ctx, w.analyst, deaf)
	assert.Equal(t, fault.Conflict, fault.KindOf(err))
	require.NoError(t, w.store.DeleteRecording(ctx, w.coach, behind))
	require.NoError(t, w.store.SaveMatches(ctx, id, []align.Pair{pairOf(side, behind, 7, 0.9)}), "gone meanwhile")
	assert.Equal(t, fault.NotFound, fault.KindOf(w.store.SaveMatches(ctx, 999, nil)))
}

func TestThreeCamerasThatDoNotClose(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	id := w.session(w.players[0].ID)
	a := w.recording(id, media.SideOn, film(60))
	b := w.recording(id, media.BehindTheArm, film(60))
	c := w.recording(id, media.OtherCamera, film(60))
	require.NoError(t, w.store.SaveMatches(t.Context(), id, []align.Pair{
		pairOf(a, b, 5, 0.95), pairOf(b, c, 3, 0.9), pairOf(a, c, 11, 0.6),
	}))
	assert.InDelta(t, 8, w.state(c).Clock.Offset.Seconds(), 0.001, "over the two that are surer")
	assert.InDelta(t, 5, w.state(b).Clock.Offset.Seconds(), 0.001)
}
