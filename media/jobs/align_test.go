package jobs_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/ffmpeg/fftest"
	"netreel/tagging"
)

// TestTwoCamerasOnOneClock: the second camera began 3 s after the first.
func TestTwoCamerasOnOneClock(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	dir := t.TempDir()
	heard := func(name, from string) []byte {
		path := filepath.Join(dir, name)
		fftest.FFmpeg(t, "-f", "lavfi", "-i", "anoisesrc=r=16000:a=0.3:d=30:seed=1",
			"-f", "lavfi", "-i", "color=c=gray:s=64x36:r=10:d=20", "-map", "1:v", "-map", "0:a", "-pix_fmt", "yuv420p",
			"-af", "atrim=start="+from+",asetpts=PTS-STARTPTS", "-c:a", "pcm_s16le", "-shortest", path)
		content, err := os.ReadFile(path)
		require.NoError(t, err)
		return content
	}
	s.open(s.deps)
	first := s.land("side.mov", heard("side.mov", "0"))
	s.idle()
	content := heard("behind.mov", "3")
	second := s.arrive("behind.mov", content, len(content))
	s.exec(`UPDATE upload SET camera = 'behind-the-arm' WHERE id = $1`, second.ID)
	require.NoError(t, s.store.MarkLanded(t.Context(), second.TusID))
	s.idle()

	r := s.recording(s.upload(second.ID).RecordingID)
	require.Equal(t, tagging.BySound, r.ClockBy, r.ClockNote)
	assert.InDelta(t, 3, r.Clock.Offset.Seconds(), 0.01)
	assert.Greater(t, *r.ClockSure, 0.9)
	assert.Zero(t, s.recording(s.upload(first.ID).RecordingID).Clock.Offset)
}
